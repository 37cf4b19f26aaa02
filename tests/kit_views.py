"""Pick lists and kits of the invented garage, for the tests of sheets and labels."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

from kitting.views import Bag, BagLine, CautionView, EndLabel, KitView, PickLine, PickView

ON = date(2026, 4, 15)
CAR = "Ulvander Pell …117"
JOBS = ("J1 rear coolant pipe seals", "J2 oil cooler reseal", "J6 gearbox cooler lines")
STOPPED = (
    "J2 STOPPED: Which oil cooler? Look at the plate: four bolts is the early type, five the late.",
)
CAUTIONS = (
    CautionView(
        "coolant",
        "Coolant",
        "Coolant is poisonous and may be hot and under pressure: caps come off a cold system only."
        " Follow the maker's data, local rules and licensed practice.",
        ("A2 coolant drain", "rear coolant pipe"),
    ),
    CautionView(
        "solvent",
        "Solvents, sealants and dust",
        "Ventilate, wear gloves and eye protection; see the data sheet of the product.",
        ("CLEANER-SOLVENT",),
    ),
)

RING_LINE = BagLine(
    "RING-FKM-17X2.5",
    "O-ring 17.0 × 2.5 mm",
    "renew",
    "1",
    "rear coolant pipe into the pump",
    "17 × 2.5 mm, FKM 75",
    "rubber assembly fluid",
)
BOLT_LINE = BagLine("BOLT-M6X25", "flange bolt M6 × 25", "keep", "2", "pipe bolts", "")
HOSE_LINE = BagLine("HOSE-HEATER", "heater hose", "inspect", "up to 1", "hose on the long leg", "")

PUMP_END = EndLabel(
    "rear coolant pipe into the pump",
    "pump end, short leg",
    "renew",
    "RING-FKM-17X2.5",
    "17 × 2.5 mm",
    "FKM 75",
    "green",
    "rubber assembly fluid",
    "1",
)
HEATER_END = EndLabel(
    "rear coolant pipe into the heater flange",
    "heater end, long leg",
    "renew",
    "RING-EPDM-17X2",
    "17 × 2 mm",
    "EPDM 70",
    None,
    "DRY",
    "1",
)
LOOSE = (
    BagLine("CAP-PLUG", "cap or plug for an open end", "use", "12", "", "1 pack of 50"),
    BagLine("COOLANT-NEAT", "coolant concentrate", "use", "1.6 L", "", "1 pack of 5 L"),
    BagLine("SEALANT-70", "form-in-place sealant", "use", "18.9 ml", "", "1 pack of 70 ml"),
)


def bag(number: int = 1, **changes: object) -> Bag:
    """A bag with two ring ends, three rules, two torques."""
    plain = Bag(
        number,
        f"KBTGAB2-{number:02d}",
        "rear-coolant-pipe",
        "rear coolant pipe",
        (HOSE_LINE, RING_LINE, BOLT_LINE),
        (PUMP_END, HEATER_END),
        ("pipe bolts: 75 lbf·in (8.47 N·m), dry", "bleed screw: NO FIGURE: LOOK IT UP, dry"),
        "2",
        ("POISONOUS",),
    )
    return replace(plain, **changes)  # type: ignore[arg-type]


def kit(*bags: Bag, **changes: object) -> KitView:
    """A kit of the bags given, or of three."""
    plain = KitView(
        "KBTGAB2",
        ON,
        CAR,
        JOBS,
        bags or (bag(1), bag(2, joint_name="oil cooler to cylinder block", ends=()), bag(3)),
        LOOSE,
        STOPPED,
        ("IRRITANT", "FLAMMABLE", "POISONOUS"),
        CAUTIONS,
    )
    return replace(plain, **changes)  # type: ignore[arg-type]


def pick_line(number: int = 1, **changes: object) -> PickLine:
    """A row that has everything a row can have."""
    plain = PickLine(
        f"R1-{number:02d}",
        "RING-FKM-17X2.5",
        "O-ring 17.0 × 2.5 mm",
        ("renew", "inspect", "keep", "use")[number % 4],
        "4",
        "17 × 2.5 mm, FKM 75, colour as supplied: green",
        (1, 3),
        ("only needed if the inspection fails",),
    )
    return replace(plain, **changes)  # type: ignore[arg-type]


def pick(*lines: PickLine, **changes: object) -> PickView:
    """A pick list of the rows given."""
    plain = PickView("KBTGAB2", ON, CAR, JOBS, lines, STOPPED, CAUTIONS)
    return replace(plain, **changes)  # type: ignore[arg-type]
