"""The sheets of a catalogue workbook: each list of entries is one, its columns follow the shapes.

What an entry may state, with which words and examples, is read off the shapes. Only what a shape
cannot know stands here: the order of the sheets, and by what a row names the entry it belongs to.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from enum import Enum, auto
from functools import cache
from typing import Any

Path = tuple[str, ...]  # keys from the top of the file; every list on the way is a sheet too


class Sort(Enum):
    """How a cell is read."""

    TEXT = auto()
    NUMBER = auto()
    YES_NO = auto()
    DAY = auto()
    LIST = auto()
    MAP = auto()


@dataclass(frozen=True, slots=True)
class Column:
    """A column: the keys that its value stands under, from the entry on.

    `words` are all that may stand there; `names` is the section whose codes are meant, of which a
    file may have more. `figure` is a number with its unit. `of_lists` is a list of lists,
    `of_texts` one of texts.
    """

    heading: str
    keys: Path
    sort: Sort = Sort.TEXT
    required: bool = False
    about: str = ""
    example: str = ""
    words: tuple[str, ...] = ()
    names: str = ""
    figure: bool = False
    of_lists: bool = False
    of_texts: bool = False


@dataclass(frozen=True, slots=True)
class Owner:
    """An entry that rows of another sheet belong to, named in a column by some of its keys."""

    path: Path
    columns: tuple[Column, ...]


@dataclass(frozen=True, slots=True)
class Sheet:
    """A list of entries. `keyed` says that they stand in a mapping, under what this column says.

    `single` is no list, but one entry.
    """

    name: str
    path: Path
    about: str
    owners: tuple[Owner, ...]
    columns: tuple[Column, ...]
    keyed: Column | None = None
    single: bool = False

    @property
    def headings(self) -> tuple[Column, ...]:
        """All columns, those first that say what a row belongs to."""
        named = [column for owner in self.owners for column in owner.columns]
        return (*named, *((self.keyed,) if self.keyed else ()), *self.columns)


# In the order of the tabs: first what nearly every job needs.
_SHEETS: Mapping[str, tuple[Path, str]] = {
    "items": (("items",), "parts and consumables"),
    "units": (("units",), "assemblies, such as the brakes of both axles"),
    "joints": (("units", "joints"), "where something is sealed or held"),
    "parts": (("units", "joints", "parts"), "the parts of joints that are 'like' a pattern"),
    "fits": (("units", "joints", "fits"), "which item goes where, in a joint without a pattern"),
    "uses": (("units", "joints", "uses"), "consumables that closing a joint takes"),
    "steps": (("units", "steps"), "something off and on again, and the joints that it opens"),
    "jobs": (("units", "jobs"), "what is asked for: the steps needed in the end"),
    "renews": (("units", "jobs", "renews"), "what a job renews by its own wish"),
    "models": (("models",), "cars of one model, and the units they carry"),
    "cars": (("vehicles",), "single cars"),
    "splits": (("units", "splits"), "questions that decide which parts a car takes"),
    "options": (("units", "splits", "options"), "the answers to them"),
    "contents": (("items", "contents"), "what a packet brings"),
    "item rules": (("items", "rules"), "what a source says of an item: renew, inspect, keep"),
    "part rules": (("units", "joints", "parts", "rules"), "what a source says of such a part"),
    "fit rules": (("units", "joints", "fits", "rules"), "what a source says of one position"),
    "step uses": (("units", "steps", "uses"), "consumables that a step takes"),
    "services": (("units", "jobs", "services"), "work bought from outside"),
    "item media": (("items", "media"), "how a compound stands a medium, by a source"),
    "successors": (("items", "replaced", "by"), "what replaces an item"),
    "alternatives": (("items", "alternatives"), "what may stand in for an item"),
    "model fluids": (("models", "fluids"), "what a fluid is on a model"),
    "car fluids": (("vehicles", "fluids"), "what a fluid is on a car"),
    "history": (("vehicles", "history"), "what became of an item at an earlier visit"),
    "kinds": (("kinds",), "kinds of item of one's own"),
    "kind rules": (("kinds", "rules"), "what goes back, by kind"),
    "fluids": (("fluids",), "fluids of one's own"),
    "systems": (("systems",), "parts of the car of one's own"),
    "cautions": (("cautions",), "warnings of one's own"),
    "licences": (("licences",), "qualifications of one's own"),
    "tools": (("tools",), "general tools of one's own"),
    "about": (("about",), "who wrote this workbook, from what; one row"),
}  # fmt: skip

# What the rows of other sheets name an entry by: column and key.
_NAMED_BY: Mapping[Path, tuple[tuple[str, str], ...]] = {
    ("items",): (("for item", "code"),),
    ("units",): (("unit", "code"),),
    ("units", "joints"): (("joint", "code"),),
    ("units", "joints", "fits"): (("position", "position"), ("option", "option")),
    ("units", "joints", "parts"): (("part", ""),),
    ("units", "steps"): (("step", "code"),),
    ("units", "jobs"): (("job", "code"),),
    ("units", "splits"): (("split", "code"),),
    ("models",): (("model", "code"),),
    ("vehicles",): (("registration", "registration"),),
    ("kinds",): (("kind", "code"),),
}
_NOT_NEEDED = ("unit", "option")  # the only unit of a workbook; most positions have no option

# The sections whose codes are meant under a key; `section of a sheet` where it is in the workbook.
_NAMES: Mapping[str, str] = {
    "kind": "kinds", "system": "systems", "fluid": "fluids", "licence": "licences",
    "like": "patterns", "elastomer": "rubbers", "item": "items", "for item": "items",
    "unit": "units", "joint": "joints", "step": "steps", "job": "jobs", "split": "splits",
    "model": "models", "registration": "cars",
}  # fmt: skip

_SIDES = Column(
    "sides", ("sides",), Sort.LIST, about="on these sides of its joint or step only", example="left"
)
_BY_SIDE = ("fits", "uses", "step uses")
_ROLE = ("role",)  # the column 'part' of the sheet of parts says it
_PARTS = "parts"
_PART = Column("part", (), required=True, about="the part of the pattern, such as pads or washer")


@cache
def sheets() -> tuple[Sheet, ...]:
    """Every sheet, in the order of the tabs."""
    from kitting.files.catalogue.document import Catalogue

    schema = Catalogue.model_json_schema(mode="validation")
    made = _Columns(schema["$defs"])
    return tuple(made.sheet(name, path, about, schema) for name, (path, about) in _SHEETS.items())


def heading_key(text: str) -> str:
    """A heading as headings are compared: no capitals, single spaces, no underscores."""
    return " ".join(text.replace("_", " ").split()).casefold()


class _Columns:
    def __init__(self, shapes: Mapping[str, Any]) -> None:
        self.shapes = shapes

    def sheet(self, name: str, path: Path, about: str, schema: Mapping[str, Any]) -> Sheet:
        owners = tuple(
            Owner(before, tuple(self._named(*by) for by in _NAMED_BY[before]))
            for before in (path[:end] for end in range(1, len(path)))
            if before in _NAMED_BY
        )
        columns = list(self._of(self._shape(path, schema), path, ()))
        if path[-1] == _PARTS:  # of a pattern, some are fits and some are uses
            columns += self._of(self.shapes["Use"], path, ())
        if name in _BY_SIDE:
            columns.append(_SIDES)
        known: dict[str, Column] = {}
        for column in columns:
            if column.keys != _ROLE:
                known.setdefault(column.heading, column)
        keyed = _PART if path[-1] == _PARTS else None
        single = _is_single(schema["properties"][path[0]]) and len(path) == 1
        return Sheet(name, path, about, owners, tuple(known.values()), keyed, single)

    def _named(self, heading: str, key: str) -> Column:
        return Column(
            heading,
            (key,),
            required=heading not in _NOT_NEEDED,
            about="what the row belongs to",
            names=_NAMES.get(heading, ""),
        )

    def _shape(self, path: Path, schema: Mapping[str, Any]) -> Mapping[str, Any]:
        """The shape of the entries of a list."""
        node: Mapping[str, Any] = schema
        for key in path:
            found = node["properties"][key]
            entry = self._entry(found) or self._entry(found.get("items", {}))
            if key == _PARTS:
                entry = self.shapes["Fit"]
            assert entry is not None, path  # noqa: S101 - the table above names lists of entries
            node = entry
        return node

    def _entry(self, schema: Mapping[str, Any]) -> Mapping[str, Any] | None:
        """The shape that a schema refers to, where it is one of an entry with keys."""
        for one in _choices(schema):
            shape = self.shapes.get(one.get("$ref", "").rpartition("/")[2], {})
            if "properties" in shape:
                return shape  # type: ignore[no-any-return]
        return None

    def _of(self, shape: Mapping[str, Any], path: Path, before: Path) -> Iterator[Column]:
        lists = {where for where, _ in _SHEETS.values()}
        needed = shape.get("required", ())
        naming = [key for _, key in _NAMED_BY.get(path, ())]
        for key, schema in shape["properties"].items():
            keys = (*before, key)
            entry = self._entry(schema)
            plain = [one for one in _choices(schema) if self._entry(one) is None]
            required = key in needed and not before
            if (*path, *keys) not in lists and plain:
                column = self._column(keys, schema, plain, required)
                defines = key in naming
                elsewhere = keys == ("joint",) and path[0] != "units"  # there it is UNIT/JOINT
                yield replace(column, names="") if defines or elsewhere else column
            if entry is not None:
                yield from self._of(entry, path, keys)

    def _column(
        self, keys: Path, schema: Mapping[str, Any], plain: Sequence[Any], required: bool
    ) -> Column:
        one = plain[0]
        one = {**one, **self.shapes.get(one.get("$ref", "").rpartition("/")[2], {})}
        example = str(next(iter(one.get("examples") or schema.get("examples") or []), ""))
        inside = one.get("items", {})
        of_one = one.get("type")
        words = one.get("enum") or ([one["const"]] if "const" in one else ())
        names = _NAMES.get(keys[-1], "") if of_one == "string" and not words else ""
        return Column(
            " ".join(keys).replace("_", " "),
            keys,
            _SORTS.get(str(of_one), Sort.TEXT) if one.get("format") != "date" else Sort.DAY,
            required,
            schema.get("description") or one.get("description") or "",
            example,
            tuple(map(str, words)),
            names,
            example[:1].isdigit() and of_one == "string",
            inside.get("type") == "array",
            "string" in (inside.get("type"), *(inside.get("type") or ())),
        )


_SORTS: Mapping[str, Sort] = {
    "integer": Sort.NUMBER,
    "number": Sort.NUMBER,
    "boolean": Sort.YES_NO,
    "array": Sort.LIST,
    "object": Sort.MAP,
}


def _choices(schema: Mapping[str, Any]) -> list[Any]:
    """The schemas that a value may be of, without that of nothing."""
    return [one for one in schema.get("anyOf", [schema]) if one.get("type") != "null"]


def _is_single(schema: Mapping[str, Any]) -> bool:
    return all(one.get("type") != "array" for one in _choices(schema))


def sheet_at(path: Path) -> Sheet:
    """The sheet of a list."""
    return next(sheet for sheet in sheets() if sheet.path == path)


def names_of(path: Path) -> tuple[str, ...]:
    """The keys of an entry by which rows of other sheets name it."""
    return tuple(key for _, key in _NAMED_BY.get(path, ()))
