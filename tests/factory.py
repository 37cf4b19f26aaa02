"""Views for tests of paper: a kit of the demo garage, and one that is hostile everywhere."""

from __future__ import annotations

from datetime import date

from kitting.facts.stages import parse_stage
from kitting.facts.words import Rule, ThreadState
from kitting.views.kit import Bag, BagLine, EndLabel, KitView, PickLine, PickView
from kitting.views.plan import CautionView, TighteningView

ON = date(2026, 4, 15)
CAUTION = CautionView("coolant", "Coolant", "Cap off cold only; the maker's data decide.", ("A2",))
HOSTILE = (
    "<b>&amp; [red]x[/] \x00\x07\u202e\u200b \U0001f600 "
    + "Wort" * 40
    + " ½ ° · μ € Ł ő "
    + "x " * 5000
)


def end(number: int, **changes: str | None) -> EndLabel:
    """A ring end; the quantity is always one."""
    values: dict[str, str | None] = {
        "position": f"pump end {number}",
        "end": "short leg",
        "rule": "renew",
        "item": "RING-FKM-17X2.5",
        "size": "17 × 2.5 mm",
        "material": "FKM 75",
        "colour": "brown",
        "lubricant": "rubber assembly fluid, 0.2 ml",
        "quantity": "1",
    }
    return EndLabel(**{**values, **changes})  # type: ignore[arg-type]


def tightening(position: str, *stages: str, state: ThreadState = ThreadState.DRY) -> TighteningView:
    """How one position is tightened; no stages means that no figure is known."""
    read = tuple(map(parse_stage, stages))
    return TighteningView(
        "rear-pipe", position, "BOLT", 4, Rule.INSPECT, None, read, state, None, None, ()
    )


def bag(number: int, lines: int = 2, ends: int = 1) -> Bag:
    """A bag with some contents."""
    return Bag(
        number=number,
        code=f"KBTGAB2-{number:02d}",
        joint="rear-pipe",
        joint_name="rear coolant pipe, pump end",
        lines=tuple(
            BagLine(
                f"BOLT-{n}",
                f"flange bolt M6 × {n}",
                ("renew", "inspect", "keep")[n % 3],
                "4",
                f"bolts {n} to {n + 3}",
                "M6 × 25 mm, 8.8",
                "DRY" if n % 2 else None,
            )
            for n in range(lines)
        ),
        ends=tuple(end(n) for n in range(ends)),
        tightening=(tightening("bolts 1 to 4", "20 N·m", "+90°"),),
        count_out="1",
        hazards=("POISONOUS",),
    )


def kit(bags: int = 3, lines: int = 2, ends: int = 1) -> KitView:
    """A kit of so many bags."""
    return KitView(
        reference="KBTGAB2",
        on=ON,
        vehicle="Ulvander Pell …117",
        jobs=("J1 rear coolant pipe seals",),
        bags=tuple(bag(n + 1, lines, ends) for n in range(bags)),
        loose=(BagLine("COOLANT", "coolant concentrate", "use", "1.6 L", "", "1 pack of 5 L"),),
        stopped=(),
        hazards=("POISONOUS", "FLAMMABLE"),
        cautions=(CAUTION,),
    )


def hostile_kit() -> KitView:
    """Every text as bad as it gets; codes are ours and stay plain."""
    line = BagLine(HOSTILE, HOSTILE, "renew", HOSTILE, HOSTILE, HOSTILE, HOSTILE)
    one = Bag(
        1, "KBTGAB2-01", HOSTILE, HOSTILE, (line,) * 30,
        (EndLabel(*[HOSTILE] * 2, "renew", *[HOSTILE] * 6),), (tightening(HOSTILE, "20 N·m"),) * 9, "12", (HOSTILE,),
    )  # fmt: skip
    return KitView(
        "KBTGAB2", ON, HOSTILE, (HOSTILE,) * 9, (one,), (line,) * 40, (HOSTILE,), (HOSTILE,),
        (CautionView("x", HOSTILE, HOSTILE, (HOSTILE,)),),
    )  # fmt: skip


def pick(rows: int, text: str = "O-ring 17.0 × 2.5 mm") -> PickView:
    """A pick list of so many rows."""
    return PickView(
        reference="KBTGAB2",
        on=ON,
        vehicle="Ulvander Pell …117",
        jobs=("J1 rear coolant pipe seals",),
        lines=tuple(
            PickLine(
                f"A-{n:02d}", f"ITEM-{n}", text, ("renew", "inspect", "use")[n % 3], "4",
                "FKM 75, colour as supplied: brown ½ ° · μ € Ł ő", (1, 2), ("not sold singly",),
            )
            for n in range(rows)
        ),
        stopped=("J2 STOPPED: Which oil cooler is fitted? Look at it.",),
        cautions=(CAUTION,),
    )  # fmt: skip
