"""The group of workshops of the month: plain data, and the catalogue and lists made from it.

All invented: names, prices, dates. Nothing here is read from the program.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

BRANCHES = ("canal", "hill", "upper", "van1", "van2")
VANS = ("van1", "van2")
CARS = tuple(f"MON {number:03}" for number in range(1, 25))


@dataclass(frozen=True)
class Goods:
    """An item: `years` that its rubber keeps from the day it was made; a pack's life once opened.

    Amounts are thousandths of the unit.
    """

    code: str
    kind: str
    more: str = ""
    unit: str = "each"
    years: int | None = None
    pack: int | None = None
    opened_days: int | None = None


# FKM keeps 10 years and NBR 7 by ISO 2230:2002, read in a seal maker's extract of BS ISO 2230:2002.
ITEMS = {
    one.code: one
    for one in (
        Goods("RING", "o-ring", "elastomer: FKM", years=10),
        Goods("SEAL", "o-ring", "elastomer: NBR", years=7),
        Goods("WASHER", "crush-washer"),
        Goods("PUMP", "water-pump"),
        Goods("BAND", "spring-band-clamp", "alternatives: [{item: WORM}]"),
        Goods("WORM", "worm-drive-clamp"),
        Goods("CAP", "caps-and-plugs"),
        Goods("OIL", "engine-oil", "pack: 500 ml", "ml", pack=500_000),
        Goods("PASTE", "sealant", "pack: 70 ml, opened_life: 60 days", "ml", None, 70_000, 60),
    )
}  # fmt: skip

# Joint → (item, position, pieces, rule); what each step opens and uses; what each job needs.
JOINTS = {
    "rail": [("RING", "groove", 4, "renew")],
    "cover": [("SEAL", "upper", 1, "inspect"), ("SEAL", "lower", 1, "inspect")],
    "drain": [("WASHER", "plug", 2, "renew")],
    "port": [("RING", "port", 2, "renew"), ("WASHER", "union", 1, "renew")],
    "pump": [("PUMP", "flange", 1, "renew"), ("BAND", "hose", 2, "renew")],
}
STEPS: dict[str, tuple[list[str], dict[str, int]]] = {
    "S1": (["rail"], {}),
    "S2": (["cover"], {"CAP": 3_000}),
    "S3": (["drain"], {"OIL": 800_000}),
    "S4": (["port"], {"PASTE": 20_000}),
    "S5": (["pump"], {"CAP": 2_000, "PASTE": 10_000}),
}
JOBS = {
    "RAIL": ("S1", "S3"),
    "COVER": ("S2", "S3"),
    "PORT": ("S4", "S1"),
    "COOL": ("S5",),
    "OIL": ("S3",),
}
# The fluid of each joint stands what its rubber is made of.
FLUIDS = {"rail": "diesel", "cover": "engine-oil", "port": "diesel"}
SYSTEMS = {"cover": "lubrication", "drain": "lubrication", "pump": "cooling"}


def needs_of(jobs: tuple[str, ...], instead: dict[str, str]) -> dict[str, int]:
    """What jobs ask for in all, thousandths by item: each joint and each step once.

    `instead` is what stands in for an item in this kit.
    """
    steps = {step for job in jobs for step in JOBS[job]}
    found: dict[str, int] = {}
    for step in sorted(steps):
        joints, uses = STEPS[step]
        for joint in joints:
            for item, _, pieces, _ in JOINTS[joint]:
                code = instead.get(item, item)
                found[code] = found.get(code, 0) + pieces * 1000
        for item, amount in uses.items():
            found[item] = found.get(item, 0) + amount
    return found


def joints_of(jobs: tuple[str, ...]) -> list[str]:
    """The joints that jobs open."""
    steps = sorted({step for job in jobs for step in JOBS[job]})
    return [joint for step in steps for joint in STEPS[step][0]]


@dataclass(frozen=True)
class Seller:
    """A supplier: carriage and the goods from which it is free, in pence."""

    code: str
    cutoff: str
    lead: tuple[int, int]
    carriage: int = 0
    free_from: int | None = None


SELLERS = {
    one.code: one
    for one in (
        Seller("prompt", "16:00", (1, 1)),
        Seller("steady", "12:00", (2, 3), 695, 5000),
        Seller("distant", "11:00", (4, 6), 450),
    )
}


@dataclass(frozen=True)
class Part:
    """A part on a price list: what is in a pack (thousandths), pence, (packs from, pence) less."""

    item: str
    pack: int
    price: int
    less: tuple[int, int] | None = None
    returns: bool = True
    core: int | None = None

    def each(self, packs: int) -> int:
        """The price of a pack if so many are taken, pence."""
        return self.less[1] if self.less and packs >= self.less[0] else self.price


PARTS = {
    "prompt": [
        Part("RING", 1_000, 290), Part("SEAL", 1_000, 180), Part("WASHER", 1_000, 60),
        Part("PUMP", 1_000, 6450, core=1500), Part("BAND", 1_000, 145), Part("WORM", 1_000, 130),
        Part("CAP", 10_000, 350), Part("OIL", 500_000, 720), Part("PASTE", 70_000, 1290, returns=False),
    ],
    "steady": [
        Part("RING", 5_000, 950, (3, 890)), Part("SEAL", 5_000, 610, (4, 580)),
        Part("WASHER", 10_000, 320), Part("BAND", 1_000, 120), Part("OIL", 500_000, 690, (6, 640)),
    ],
    "distant": [
        Part("PUMP", 1_000, 5200, core=1200), Part("RING", 10_000, 1500, returns=False),
        Part("PASTE", 70_000, 1090),
    ],
}  # fmt: skip


def part_number(seller: str, item: str) -> str:
    """The supplier's own number of an item."""
    return f"{seller[:2].upper()}-{item}"


def catalogue() -> str:
    """The catalogue file of all that."""
    items = "\n".join(
        f"  - {{code: {one.code}, name: {one.code.lower()} of the month, kind: {one.kind},"
        f" unit: {one.unit}{', ' + one.more if one.more else ''}}}"
        for one in ITEMS.values()
    )
    joints = "\n".join(_joint(code) for code in JOINTS)
    steps = "\n".join(
        f"      - {{code: {code}, name: step {code}, hours: 1 h, opens: [{', '.join(opens)}],"
        f" uses: [{', '.join(_use(item, amount) for item, amount in uses.items())}]}}"
        for code, (opens, uses) in STEPS.items()
    )
    jobs = "\n".join(
        f"      - {{code: {code}, name: job {code.lower()}, needs: [{', '.join(needs)}]}}"
        for code, needs in JOBS.items()
    )
    cars = "\n".join(
        f"  - {{registration: {car}, model: month, build_date: 2019-05-07}}" for car in CARS
    )
    branches = "\n".join(
        f'  - {{code: {code}, name: {code.title()}, country: GB, subdivision: ENG, van_cutoff: "15:00"}}'
        for code in BRANCHES
    )
    sellers = "\n".join(_seller(one) for one in SELLERS.values())
    return (
        f"items:\n{items}\nunits:\n  - code: engine-m\n    name: Engine M\n    joints:\n{joints}\n"
        f"    steps:\n{steps}\n    jobs:\n{jobs}\n"
        f"models:\n  - {{code: month, name: Ulvander Mensel, units: [engine-m]}}\nvehicles:\n{cars}\n"
        f"branches:\n{branches}\nsuppliers:\n{sellers}\n"
    )


def _joint(code: str) -> str:
    fluids = f"\n        fluids: [{FLUIDS[code]}]" if code in FLUIDS else ""
    fits = "\n".join(
        f"          - {{item: {item}, position: {position}, quantity: {pieces} each,"
        f" rules: [{{rule: {rule}, source: maker, reference: invented{_look(rule)}}}]}}"
        for item, position, pieces, rule in JOINTS[code]
    )
    return (
        f"      - code: {code}\n        name: joint {code}\n        system: {SYSTEMS.get(code, 'engine')}"
        f"{fluids}\n        fits:\n{fits}"
    )


def _look(rule: str) -> str:
    return ", criterion: no cut" if rule == "inspect" else ""


def _use(item: str, amount: int) -> str:
    return f"{{item: {item}, amount: {amount // 1000} {ITEMS[item].unit}}}"


def _seller(one: Seller) -> str:
    more = f"\n    carriage: {one.carriage / 100:.2f} GBP" if one.carriage else ""
    more += f"\n    carriage_free: {one.free_from / 100:.2f} GBP" if one.free_from else ""
    return (
        f'  - code: {one.code}\n    name: {one.code.title()} Supplies\n    cutoffs: ["{one.cutoff}"]\n'
        f"    lead_days: {one.lead[0]}\n    late_days: {one.lead[1]}\n    country: GB\n"
        f"    subdivision: ENG\n    restocking: 10%{more}"
    )


def price_list(seller: str) -> str:
    """The price list of a supplier."""
    rows = ["part,item,price,pack,break 1 from,break 1 price,returns,core"]
    for one in PARTS[seller]:
        low, less = (str(one.less[0]), f"{one.less[1] / 100:.2f} GBP") if one.less else ("", "")
        core = f"{one.core / 100:.2f} GBP" if one.core else ""
        rows.append(
            f"{part_number(seller, one.item)},{one.item},{one.price / 100:.2f} GBP,"
            f"{one.pack // 1000} {ITEMS[one.item].unit},{low},{less},"
            f"{'yes' if one.returns else 'no'},{core}"
        )
    return "\n".join(rows) + "\n"


# What lies there at the start: branch, item, lot, amount (thousandths), quarter it was made in.
Q = {"2Q19": date(2019, 6, 30), "3Q24": date(2024, 9, 30), "1Q25": date(2025, 3, 31),
     "4Q25": date(2025, 12, 31), "1Q26": date(2026, 3, 31)}  # fmt: skip
STOCK = [
    ("upper", "RING", "R-25", 24_000, "1Q25"), ("upper", "RING", "R-26", 20_000, "1Q26"),
    ("upper", "SEAL", "S-19", 9_000, "2Q19"), ("upper", "SEAL", "S-24", 12_000, "3Q24"),
    ("upper", "WASHER", "W-1", 60_000, ""), ("upper", "CAP", "C-1", 80_000, ""),
    ("upper", "OIL", "O-1", 9_500_000, ""), ("upper", "PASTE", "P-1", 420_000, ""),
    ("upper", "BAND", "B-1", 6_000, ""), ("upper", "WORM", "M-1", 5_000, ""),
    ("upper", "PUMP", "PU-1", 2_000, ""),
    ("canal", "RING", "R-24", 10_000, "3Q24"), ("canal", "RING", "R-25", 9_000, "1Q25"),
    ("canal", "SEAL", "S-19", 4_000, "2Q19"), ("canal", "SEAL", "S-25", 8_000, "4Q25"),
    ("canal", "WASHER", "W-2", 25_000, ""), ("canal", "CAP", "C-2", 40_000, ""),
    ("canal", "OIL", "O-2", 4_000_000, ""), ("canal", "PASTE", "P-2", 210_000, ""),
    ("hill", "RING", "R-25", 8_000, "1Q25"), ("hill", "SEAL", "S-24", 6_000, "3Q24"),
    ("hill", "WASHER", "W-3", 16_000, ""), ("hill", "CAP", "C-3", 30_000, ""),
    ("hill", "OIL", "O-3", 3_000_000, ""), ("hill", "BAND", "B-3", 4_000, ""),
    ("van1", "WASHER", "W-4", 12_000, ""), ("van1", "RING", "R-26", 6_000, "1Q26"),
    ("van2", "OIL", "O-5", 2_000_000, ""), ("van2", "CAP", "C-5", 12_000, ""),
]  # fmt: skip


def stock_list() -> str:
    """The list of what lies there at the start."""
    rows = ["branch,item,lot,quantity,made,received"]
    rows += [
        f"{branch},{item},{lot},{amount // 1000} {ITEMS[item].unit},{made},2026-05-29"
        for branch, item, lot, amount, made in STOCK
    ]
    return "\n".join(rows) + "\n"
