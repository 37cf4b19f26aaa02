"""Views for tests of paper: a kit of the demo garage, and one that is hostile everywhere."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from typing import Any

from kitting.facts.plan_reasons import LubricantReason, NoteReason
from kitting.facts.reasons import Reason, because
from kitting.facts.ring_reasons import RingDifference
from kitting.facts.stages import parse_stage
from kitting.facts.units import Quantity
from kitting.facts.verdicts import Aspect, Doubt, Verdict
from kitting.facts.words import NeedRule, Rule, ThreadState
from kitting.views.kit import (
    Bag,
    BagLine,
    ContentView,
    DiffersView,
    EndLabel,
    HazardView,
    KitView,
    LeftOff,
    PickLine,
    PickView,
)
from kitting.views.plan import CautionView, TighteningView

ON = date(2026, 4, 15)
CAUTION = CautionView("coolant", "Coolant", "Cap off cold only; the maker's data decide.", ("A2",))
HOSTILE = (
    "<b>&amp; [red]x[/] \x00\x07\u202e\u200b \U0001f600 "
    + "Wort" * 40
    + " ½ ° · μ € Ł ő "
    + "x " * 5000
)


DRY = because(LubricantReason.DRY)


def lubricant(name: str) -> Reason:
    """A product that a position is assembled with."""
    return because(LubricantReason.PRODUCT, name=name, item="LUBE", amount=Quantity(200, "ml"))


def end(
    number: int, quantity: int = 1, lubricated: Reason | None = None, **changes: str | None
) -> EndLabel:
    """A ring end; the rubber is read from its material, as "FKM 75"."""
    values: dict[str, str | None] = {
        "position": f"pump end {number}",
        "end": "short leg",
        "item": "RING-FKM-17X2.5",
        "size": "17 × 2.5 mm",
        "material": "FKM 75",
        "colour": "brown",
        **changes,
    }
    elastomer, _, hardness = (values["material"] or "").partition(" ")
    return EndLabel(
        position=values["position"] or "",
        end=values["end"],
        content=ContentView(
            item=values["item"] or "",
            name="O-ring",
            rule=NeedRule.RENEW,
            quantity=quantity * 1000,
            unit="each",
            size=values["size"],
            material=values["material"],
            colour=values["colour"],
        ),
        lubricant=lubricated or lubricant("rubber assembly fluid"),
        elastomer=elastomer or None,
        hardness=int(hardness) if hardness.isdecimal() else None,
    )


def content(number: int, **changes: Any) -> ContentView:
    """Four bolts of a size; every third is renewed."""
    bolts = ContentView(
        item=f"BOLT-{number}",
        name=f"flange bolt M6 × {number}",
        rule=(NeedRule.RENEW, NeedRule.INSPECT, NeedRule.KEEP)[number % 3],
        quantity=4000,
        unit="each",
        size="M6 × 25 mm",
        material="8.8",
    )
    return replace(bolts, **changes)


def stopped(text: str) -> Doubt:
    """That a job waits for a variant, with the question and the check."""
    check = because(LeftOff.STOPPED, jobs=("J2",), question=text, check="Look at it.")
    return Doubt(Verdict.STOPPED, Aspect.VARIANT, check)


def differs(name: str, size: str, material: str, difference: str) -> DiffersView:
    """Another ring that could be fitted by mistake; the difference as "FKM, not EPDM; …"."""
    pairs = [part.partition(", not ") for part in difference.split("; ")]
    parts = tuple(
        because(RingDifference.RUBBER, mine=mine, other=other or mine) for mine, _, other in pairs
    )
    return DiffersView(
        ends=(name,),
        size=size,
        material=material,
        difference=because(RingDifference.DIFFERS, parts=parts),
    )


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
        code=f"KBTGAB27-{number:02d}",
        joint="rear-pipe",
        joint_name="rear coolant pipe, pump end",
        lines=tuple(
            BagLine(
                content=content(n),
                positions=(f"bolts {n} to {n + 3}",),
                lubricants=(DRY,) if n % 2 else (),
            )
            for n in range(lines)
        ),
        ends=tuple(replace(end(n), code=f"KBTGAB27-{number:02d}-{n + 1}") for n in range(ends)),
        tightening=(tightening("bolts 1 to 4", "20 N·m", "+90°"),),
        count_out=1,
        hazards=("POISONOUS",),
        warnings=(HazardView("POISONOUS", "Coolant"),),
    )


def kit(bags: int = 3, lines: int = 2, ends: int = 1) -> KitView:
    """A kit of so many bags."""
    return KitView(
        reference="KBTGAB27",
        on=ON,
        vehicle="Ulvander Pell …117",
        vehicle_shortened="Ulvander Pell …117",
        jobs=("J1 rear coolant pipe seals",),
        bags=tuple(bag(n + 1, lines, ends) for n in range(bags)),
        loose=(
            BagLine(
                ContentView(
                    item="COOLANT",
                    name="coolant concentrate",
                    rule=NeedRule.USE,
                    quantity=1_600_000,
                    unit="ml",
                    packs=1,
                    pack=5_000_000,
                )
            ),
        ),
        doubts=(),
        hazards=("POISONOUS", "FLAMMABLE"),
        cautions=(CAUTION,),
        model="Ulvander Pell",
        plate="…117",
        warnings=(HazardView("POISONOUS", "Coolant"), HazardView("FLAMMABLE", "Solvent")),
    )


def hostile_kit() -> KitView:
    """Every text as bad as it gets; codes are ours and stay plain."""
    bad = content(
        0, item=HOSTILE, name=HOSTILE, unit=HOSTILE, size=HOSTILE, material=HOSTILE, colour=HOSTILE
    )
    line = BagLine(bad, positions=(HOSTILE,), lubricants=(lubricant(HOSTILE),))
    label = EndLabel(position=HOSTILE, end=HOSTILE, content=bad, lubricant=lubricant(HOSTILE))
    one = Bag(
        1, "KBTGAB27-01", HOSTILE, HOSTILE, (line,) * 30, (label,),
        (tightening(HOSTILE, "20 N·m"),) * 9, 12, (HOSTILE,),
    )  # fmt: skip
    return KitView(
        "KBTGAB27", ON, HOSTILE, (HOSTILE,) * 9, (one,), (line,) * 40, (stopped(HOSTILE),),
        (HOSTILE,), (CautionView("x", HOSTILE, HOSTILE, (HOSTILE,)),),
    )  # fmt: skip


def pick(rows: int, text: str = "O-ring 17.0 × 2.5 mm") -> PickView:
    """A pick list of so many rows."""
    rules = (NeedRule.RENEW, NeedRule.INSPECT, NeedRule.USE)
    return PickView(
        reference="KBTGAB27",
        on=ON,
        vehicle="Ulvander Pell …117",
        jobs=("J1 rear coolant pipe seals",),
        lines=tuple(
            PickLine(
                bin=f"A-{n:02d}",
                content=content(
                    0, item=f"ITEM-{n}", name=text, rule=rules[n % 3], size=None,
                    material="FKM 75", colour="brown ½ ° · μ € Ł ő",
                ),
                bags=(1, 2),
                notes=(because(NoteReason.NOT_SOLD_SINGLY),),
            )
            for n in range(rows)
        ),
        doubts=(stopped("Which oil cooler is fitted?"),),
        cautions=(CAUTION,),
    )  # fmt: skip
