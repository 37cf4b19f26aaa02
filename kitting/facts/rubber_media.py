"""What touches rubber: media by class, and how each elastomer stands each of them.

The table is compiled from memory of the tables that seal makers' handbooks print, on their
four-step scale; `also_stated_in` names a public statement that was read and agrees. Handbooks
differ: only rows of certainty "high" may stop anybody. What has no row is not known. Temperature
limits are those of general-purpose grades, from memory: an opinion, always.
"""

from __future__ import annotations

import csv
from collections.abc import Mapping
from dataclasses import dataclass
from functools import lru_cache
from importlib.resources import files

from kitting.errors import FigureError
from kitting.facts.names import nearest
from kitting.facts.words import RATINGS, Certainty, Rating


@dataclass(frozen=True, slots=True)
class Medium:
    """A class of fluids or lubricants that rubbers stand alike.

    `lubricant` says that it is made to assemble rubber with; `spoils` what it must be kept from.
    """

    name: str
    lubricant: bool = False
    spoils: tuple[str, ...] = ()


# Silicone on paint gives craters, silicone vapour kills exhaust sensors: common practice.
MEDIA: Mapping[str, Medium] = {
    "air": Medium("air, cold or warm"),
    "petrol": Medium("petrol with up to a tenth of ethanol"),
    "diesel": Medium("mineral diesel fuel"),
    "engine-oil": Medium("hydrocarbon engine oil", lubricant=True),
    "transmission-fluid": Medium("automatic transmission fluid", lubricant=True),
    "glycol-coolant": Medium("ethylene-glycol coolant"),
    "glycol-brake-fluid": Medium("glycol-ether brake fluid (DOT 3, 4, 5.1)", lubricant=True),
    "r134a-pag": Medium("refrigerant R134a with PAG oil", lubricant=True),
    "r1234yf-pag": Medium("refrigerant R1234yf with PAG oil", lubricant=True),
    "silicone-grease": Medium(
        "silicone grease or oil", lubricant=True, spoils=("paint", "exhaust sensor")
    ),
    "petroleum-grease": Medium("petroleum (mineral-oil) grease", lubricant=True),
    "water-based-lubricant": Medium("water-based rubber lubricant", lubricant=True),
    "castor-lubricant": Medium("castor or glycol rubber lubricant", lubricant=True),
}
SPOILED = tuple(dict.fromkeys(thing for medium in MEDIA.values() for thing in medium.spoils))

# Coldest, hottest in °C for long service of general-purpose grades; from memory, low certainty.
SERVICE_RANGE: Mapping[str, tuple[int, int]] = {
    "NR": (-50, 80), "SBR": (-45, 100), "CR": (-40, 100), "NBR": (-30, 100), "HNBR": (-30, 150),
    "ACM": (-15, 150), "AEM": (-25, 150), "EPDM": (-45, 130), "FKM": (-20, 200),
    "VMQ": (-55, 200), "FVMQ": (-60, 175), "PTFE": (-200, 260),
}  # fmt: skip


@dataclass(frozen=True, slots=True)
class TableRating:
    """A row of the table: the rating, how sure it is, who else says so."""

    rating: Rating
    certainty: Certainty
    also_stated_in: str | None
    note: str | None


@lru_cache(maxsize=1)
def compatibility() -> Mapping[tuple[str, str], TableRating]:
    """The table: (medium, elastomer) → rating."""
    text = (files("kitting.facts") / "compatibility.csv").read_text("utf-8")
    return {
        (row["medium"], row["elastomer"]): TableRating(
            RATINGS[int(row["rating"]) - 1],
            Certainty(row["certainty"]),
            row["also_stated_in"] or None,
            row["note"] or None,
        )
        for row in csv.DictReader(text.splitlines())
    }


def require_medium(code: str) -> str:
    """The code in small letters; raises FigureError naming the nearest media."""
    folded = code.strip().casefold()
    if folded not in MEDIA:
        near = nearest(folded, MEDIA) or list(MEDIA)
        raise FigureError(
            f"{code!r} is no medium that rubbers are rated for. Near: {', '.join(near)}"
        )
    return folded
