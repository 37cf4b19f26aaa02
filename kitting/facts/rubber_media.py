"""What touches rubber: media by class, and how each elastomer stands each of them.

Each row has its source and how sure it is, on the four-step scale of seal makers' handbooks. The
source is a public statement that was read, and `also_stated_in` what agrees with it; a rating that
is only from memory of the tables that handbooks print says so and is never certain. Handbooks
differ: only rows of certainty "high" may stop anybody, and those that stop in one system
(`stops_in`), where what is at stake allows no opinion. What has no row is not known. Ranges of
temperature are those of general-purpose grades, with source and certainty as the ratings have; the
narrowest of what was read holds. One from memory proves nothing. Only heat FAR_BEYOND them stops.
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


PLASTIC = "thread in plastic"
# Silicone on paint gives craters, silicone vapour kills exhaust sensors, anaerobic adhesive cracks
# some plastics: common practice, no source.
MEDIA: Mapping[str, Medium] = {
    "air": Medium("air, cold or warm"),
    "petrol": Medium("petrol with up to a tenth of ethanol"),
    "e85": Medium("petrol with 85 % of ethanol"),
    "diesel": Medium("mineral diesel fuel"),
    "biodiesel": Medium("biodiesel (ester), or diesel with more than 7 % of it"),
    "urea-solution": Medium("reductant (urea solution, ISO 22241)"),
    "engine-oil": Medium("hydrocarbon engine oil", lubricant=True),
    "transmission-fluid": Medium("automatic transmission fluid", lubricant=True),
    "gear-oil": Medium("hydrocarbon gear oil or gearbox fluid", lubricant=True),
    "gl-5-gear-oil": Medium("gear oil with sulphur additives (API GL-5)", lubricant=True),
    "mineral-hydraulic-oil": Medium("mineral hydraulic oil, as of power steering", lubricant=True),
    "glycol-coolant": Medium("ethylene-glycol coolant"),
    "glycol-brake-fluid": Medium("glycol-ether brake fluid (DOT 3, 4, 5.1)", lubricant=True),
    "silicone-brake-fluid": Medium(
        "silicone brake fluid (DOT 5)", lubricant=True, spoils=("paint", "exhaust sensor")
    ),
    "refrigerant": Medium("refrigerant with its oil, not stated which", lubricant=True),
    "r134a-pag": Medium("refrigerant R134a with PAG oil", lubricant=True),
    "r1234yf-pag": Medium("refrigerant R1234yf with PAG oil", lubricant=True),
    "r134a-ester": Medium("refrigerant R134a with ester oil", lubricant=True),
    "r1234yf-ester": Medium("refrigerant R1234yf with ester oil", lubricant=True),
    "r744-pag": Medium("refrigerant R744 (carbon dioxide) with PAG oil", lubricant=True),
    "silicone-grease": Medium(
        "silicone grease or oil", lubricant=True, spoils=("paint", "exhaust sensor")
    ),
    "petroleum-grease": Medium("petroleum (mineral-oil) grease", lubricant=True),
    "water-based-lubricant": Medium("water-based rubber lubricant", lubricant=True),
    "castor-lubricant": Medium("castor or glycol rubber lubricant", lubricant=True),
    "alcohol": Medium("alcohol, as of cleaners that leave nothing"),
    "anaerobic-adhesive": Medium("anaerobic threadlocker or sealant", spoils=(PLASTIC,)),
    "silicone-sealant": Medium("silicone sealant", spoils=("paint", "exhaust sensor")),
}
# What a joint states that it has near. That it has threads in plastic is told by its positions.
SPOILED = tuple(
    dict.fromkeys(thing for medium in MEDIA.values() for thing in medium.spoils if thing != PLASTIC)
)
# Kinds of consumables that stay where they are put, so that silence about their medium says
# nothing: common practice, no source. A kind that is not named here comes to the rubber beside it.
STAYING_PUT = frozenset({"caps-and-plugs"})

# °C beyond the hottest at which no grade of the rubber is taken to last. Our assumption: heat
# resistant grades are sold for 20 to 40 °C more than general-purpose ones (from memory).
FAR_BEYOND = 50


@dataclass(frozen=True, slots=True)
class TableRating:
    """A row of the table: the rating, how sure it is, who says so and who else does.

    `stops_in` is the system in which it stops although it is not certain.
    """

    rating: Rating
    certainty: Certainty
    source: str
    also_stated_in: str | None
    stops_in: str | None
    note: str | None

    def stops(self, system: str | None) -> bool:
        """Whether it forbids the pair in a system, and only the maker may say otherwise."""
        certain = self.rating == Rating.NOT_SUITABLE and self.certainty == Certainty.HIGH
        return certain or (self.stops_in is not None and self.stops_in == system)


@dataclass(frozen=True, slots=True)
class ServiceRange:
    """Coldest and hottest in °C for long service of general-purpose grades, and who says so.

    The figures hold in dry heat; hot fluids may lower them (the sources say so themselves).
    """

    coldest: int
    hottest: int
    certainty: Certainty
    source: str
    also_stated_in: str | None
    note: str | None


@lru_cache(maxsize=1)
def service_ranges() -> Mapping[str, ServiceRange]:
    """The ranges of temperature by the code of the elastomer."""
    text = (files("kitting.facts") / "service_ranges.csv").read_text("utf-8")
    return {
        row["elastomer"]: ServiceRange(
            int(row["coldest"]),
            int(row["hottest"]),
            Certainty(row["certainty"]),
            row["source"],
            row["also_stated_in"] or None,
            row["note"] or None,
        )
        for row in csv.DictReader(text.splitlines())
    }


@lru_cache(maxsize=1)
def compatibility() -> Mapping[tuple[str, str], TableRating]:
    """The table: (medium, elastomer) → rating."""
    text = (files("kitting.facts") / "compatibility.csv").read_text("utf-8")
    return {
        (row["medium"], row["elastomer"]): TableRating(
            RATINGS[int(row["rating"]) - 1],
            Certainty(row["certainty"]),
            row["source"],
            row["also_stated_in"] or None,
            row["stops_in"] or None,
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
            "{code!r} is no medium that rubbers are rated for. Near: {near}",
            code=code,
            near=", ".join(near),
        )
    return folded
