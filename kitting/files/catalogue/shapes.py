"""What texts of a catalogue file may be: codes, names, figures with their units."""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from datetime import date
from typing import Annotated, Any

from pydantic import (
    AfterValidator,
    BaseModel,
    BeforeValidator,
    ConfigDict,
    Field,
    StringConstraints,
    WithJsonSchema,
)

from kitting.facts.bounds import (
    CODE_SIGNS,
    NAME_SIGNS,
    TEXT_SIGNS,
    WORD_SIGNS,
    possible_day,
    within,
)
from kitting.facts.control_characters import unwritable
from kitting.facts.durations import (
    parse_days,
    parse_hours,
    parse_minutes,
    parse_months,
    parse_speed,
)
from kitting.facts.elastomers import require_elastomer
from kitting.facts.gs1 import read_gtin
from kitting.facts.heads import Head, parse_head
from kitting.facts.rubber_media import MEDIA, require_medium
from kitting.facts.stages import Stage, parse_stage
from kitting.facts.threads import (
    GRADES,
    PROPERTY_CLASSES,
    STAINLESS,
    Thread,
    parse_thread,
    require_class,
)
from kitting.facts.units import (
    Quantity,
    parse_area,
    parse_celsius,
    parse_length,
    parse_quantity,
)
from kitting.facts.vin import check_vin
from kitting.facts.weights import CarWeight, parse_weight
from kitting.facts.words import RATINGS, RULE_SOURCES, STATED_SOURCES, Rating, Source, Word


def _only(allowed: tuple[Word, ...]) -> tuple[AfterValidator, WithJsonSchema]:
    """A validator that lets only some of the words pass, and the JSON Schema that lists them."""

    def check(word: Word) -> Word:
        if word not in allowed:
            raise ValueError(f"{word!s} is not one of {', '.join(allowed)}")
        return word

    return AfterValidator(check), WithJsonSchema({"enum": list(allowed), "type": "string"})


StatedSource = Annotated[Source, *_only(STATED_SOURCES)]
RuleSource = Annotated[Source, *_only(RULE_SOURCES)]
StatedRating = Annotated[Rating, *_only(RATINGS)]


def one_of(name: str, words: tuple[str, ...]) -> BeforeValidator:
    """A validator that lets only some words pass."""

    def check(value: object) -> object:
        if str(value) not in words:
            raise ValueError(f"{value!r} is no {name}; known are {', '.join(words)}")
        return str(value)

    return BeforeValidator(check)


def figure(read: Any, example: str) -> Any:
    """A validator that hands the text to `read`, and a JSON Schema that shows an example."""
    return (
        BeforeValidator(lambda value: read(_as_text(value))),
        WithJsonSchema({"type": "string", "examples": [example]}),
    )


def _bounded(name: str, read: Callable[[str], int]) -> Callable[[str], int]:
    """A reader that refuses what is beyond the bounds of a name."""
    return lambda text: within(name, read(text), text)


def _some(amount: Quantity) -> Quantity:
    if amount.thousandths <= 0:
        raise ValueError(f"'0 {amount.unit}' comes to nothing; give how much it is")
    return amount


# What stands in a file where a text was expected, as a person calls it.
_SORTS: Mapping[type, str] = {
    bool: "yes or no", dict: "entries in braces", list: "a list", date: "a date",
}  # fmt: skip


def _as_text(value: object) -> str:
    if isinstance(value, bool) or not isinstance(value, str | int | float):
        found = next((name for sort, name in _SORTS.items() if isinstance(value, sort)), "nothing")
        raise ValueError(f"text with a unit was expected, not {found}")  # noqa: TRY004
    return str(value)


def _writable(value: str, *, lines: bool = False) -> str:
    sign = unwritable(value, lines=lines)
    if sign is not None:
        where = "text" if lines else "a name of one line"
        raise ValueError(f"it holds the sign {sign}, which {where} may not; take it out")
    return value


def _without_slash(code: str) -> str:
    if "/" in code:
        raise ValueError(
            "no '/' can stand in the code of a job or a variant: where it is asked for, UNIT/CODE"
            f" names its unit; write for example {code.replace('/', '-')}"
        )
    return code


def _checked_vin(value: str) -> str:
    check_vin(value)
    return value


CODE = re.compile(r"^[A-Za-z0-9][A-Za-z0-9._/-]*$")
Code = Annotated[
    str,
    BeforeValidator(lambda value: str(value) if isinstance(value, int) else value),
    StringConstraints(pattern=CODE.pattern, max_length=CODE_SIGNS),
]
PlainCode = Annotated[Code, AfterValidator(_without_slash)]
Text = Annotated[
    str,
    StringConstraints(strip_whitespace=True, min_length=1, max_length=TEXT_SIGNS),
    AfterValidator(lambda value: _writable(value, lines=True)),
]
Name = Annotated[
    str,
    StringConstraints(strip_whitespace=True, min_length=1, max_length=NAME_SIGNS),
    AfterValidator(lambda value: _writable(value)),
]
Registration = Annotated[
    str,
    StringConstraints(strip_whitespace=True, min_length=1, max_length=WORD_SIGNS),
    AfterValidator(lambda value: _writable(value)),
]
Amount = Annotated[Quantity, *figure(parse_quantity, "3.2 L")]
Some = Annotated[Amount, AfterValidator(_some), Field(description="more than nothing")]
Day = Annotated[date, AfterValidator(possible_day)]
Length = Annotated[int, *figure(parse_length, "17.0 mm")]
RingInside = Annotated[int, *figure(_bounded("ring inside", parse_length), "17.0 mm")]
RingSection = Annotated[int, *figure(_bounded("ring section", parse_length), "2.5 mm")]
Recess = Annotated[int, *figure(_bounded("recess", parse_length), "70 mm")]
Protrusion = Annotated[int, *figure(_bounded("protrusion", parse_length), "20 mm")]
Engagement = Annotated[int, *figure(_bounded("engagement", parse_length), "16 mm")]
BeadLength = Annotated[int, *figure(_bounded("bead length", parse_length), "1.64 m")]
FilmThickness = Annotated[int, *figure(_bounded("film thickness", parse_length), "0.1 mm")]
Area = Annotated[int, *figure(_bounded("film area", parse_area), "6500 mm²")]
Hours = Annotated[int, *figure(_bounded("step hours", parse_hours), "1.2 h")]
Months = Annotated[int, *figure(_bounded("shelf life", parse_months), "7 years")]
OpenTime = Annotated[int, *figure(_bounded("open time", parse_minutes), "10 min")]
CureTime = Annotated[int, *figure(_bounded("cure time", parse_minutes), "24 h")]
Speed = Annotated[int, *figure(parse_speed, "1.5 m/min")]
Celsius = Annotated[int, *figure(parse_celsius, "110 °C")]
Days = Annotated[int, *figure(_bounded("opened life", parse_days), "60 days")]
Weight = Annotated[CarWeight, *figure(parse_weight, "1420 kg kerb")]
HeadText = Annotated[Head, *figure(parse_head, "hexagon 10 mm")]
ThreadText = Annotated[Thread, *figure(parse_thread, "M8 x 1.25")]
StageText = Annotated[Stage, *figure(parse_stage, "20 N·m")]
LanguageCode = Annotated[
    str, StringConstraints(pattern=r"^[a-z]{2}$"), Field(examples=["de"], description="ISO 639")
]
Elastomer = Annotated[
    str, BeforeValidator(lambda value: require_elastomer(str(value))), Field(examples=["FKM"])
]
Medium = Annotated[
    str,
    BeforeValidator(lambda value: require_medium(str(value))),
    WithJsonSchema({"enum": list(MEDIA)}),
]
PropertyClass = Annotated[
    str,
    BeforeValidator(lambda value: require_class(str(value))),
    WithJsonSchema({"enum": [*PROPERTY_CLASSES, *STAINLESS, *GRADES]}),
]
# A kind is made between classes of bolts: those of stainless steel are of no such order.
BoltClass = Annotated[
    str,
    one_of("property class of ISO 898-1", tuple(PROPERTY_CLASSES)),
    WithJsonSchema({"enum": list(PROPERTY_CLASSES)}),
]
Gtin = Annotated[
    str,
    BeforeValidator(lambda value: read_gtin(_as_text(value))),
    WithJsonSchema({"type": ["string", "integer"], "examples": ["09506000134352"]}),
]
Vin = Annotated[
    str,
    BeforeValidator(lambda value: _checked_vin(str(value))),
    Field(examples=["1M8GDM9AXKP042788"]),
]


class Entry(BaseModel):
    """Common ground: unknown keys are faults, values are not changed after reading."""

    model_config = ConfigDict(extra="forbid", frozen=True, arbitrary_types_allowed=True)
