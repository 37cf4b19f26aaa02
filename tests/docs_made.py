"""Tables of the README and the guide that follow from the program.

A page marks where one goes: `<!-- made: fields -->` … `<!-- end of what is made -->`.
"""

from __future__ import annotations

import csv
import re
from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping
from pathlib import Path
from typing import Any

from docs_meant import MEANT

from kitting.cli.main import COMMANDS, app
from kitting.files.catalogue.document import Catalogue
from kitting.files.catalogue.sheets.layout import sheets
from kitting.guide.pages import pages

END = "<!-- end of what is made -->"
_MADE = re.compile(rf"<!-- made: (?P<what>[\w-]+) -->\n.*?{END}", re.DOTALL)
_KEYS = Path(__file__).parent / "cli" / "json_keys.csv"
_SEVERAL = {"a code": "codes", "text": "texts", "an entry, see below": "entries, see below"}
_LIST = "[]"
_MOST_WORDS = 12  # of a list of words that is written out


def with_tables(text: str) -> str:
    """A page with its made tables as they are now."""
    return _MADE.sub(
        lambda found: f"<!-- made: {found['what']} -->\n{TABLES[found['what']]()}\n{END}", text
    )


def without_tables(text: str) -> str:
    """A page without them."""
    return _MADE.sub("", text)


def _table(headings: Iterable[str], rows: Iterable[Iterable[str]]) -> str:
    told = [list(headings), *map(list, rows)]
    told.insert(1, ["---"] * len(told[0]))
    return "\n".join(f"| {' | '.join(row)} |" for row in told)


def map_of_pages() -> str:
    """Every page with what it tells, as the README links to it."""
    return _table(
        ("page", "what it tells"),
        ((f"[{page.topic}](kitting/guide/{page.topic}.md)", page.about) for page in pages()),
    )


# Fields of catalogue files.


def fields() -> str:
    """Every shape of a catalogue file with its fields, in the order in which they are met."""
    schema = Catalogue.model_json_schema()
    shapes = schema["$defs"]
    told = []
    for name, places in _met(schema, shapes).items():
        shape = shapes[name]
        about = " ".join(shape.get("description", "").split("\n\n")[0].split())
        needed = shape.get("required", ())
        rows = (
            (
                f"**`{key}`**" if key in needed else f"`{key}`",
                _written(of, shapes),
                _meant(name, key, of),
            )
            for key, of in shape["properties"].items()
        )
        heading = ", ".join(f"`{place}`" for place in places)
        told.append(
            f"### {heading}\n\n{about}\n\n{_table(('field', 'written', 'what it is'), rows)}"
        )
    return "\n\n".join(told)


def _met(schema: Mapping[str, Any], shapes: Mapping[str, Any]) -> dict[str, list[str]]:
    """The shapes with fields, each with the places where it stands: "units → joints"."""
    found: dict[str, list[str]] = {}

    def meet(node: Mapping[str, Any], before: tuple[str, ...]) -> None:
        for key, of in node["properties"].items():
            for name in _shapes_of(of):
                if "properties" in shapes[name]:
                    known = name in found
                    found.setdefault(name, []).append(" → ".join((*before, key)))
                    if not known:
                        meet(shapes[name], (*before, key))

    meet(schema, ())
    return found


def _shapes_of(of: Mapping[str, Any]) -> Iterator[str]:
    """The names of the shapes that a field may have, inside a list too."""
    for one in (of, *of.get("anyOf", ()), *of.get("prefixItems", ())):
        if "$ref" in one:
            yield one["$ref"].rpartition("/")[2]
        if one is not of or "items" in one:
            yield from (
                _shapes_of(one.get("items", {})) if isinstance(one.get("items"), dict) else ()
            )


def _meant(shape: str, key: str, of: Mapping[str, Any]) -> str:
    said = of.get("description") or next(
        (one["description"] for one in of.get("anyOf", ()) if "description" in one), None
    )
    meant = said or MEANT.get(f"{shape}.{key}") or MEANT.get(key)
    if meant is None:
        raise LookupError(
            f"{shape}.{key}: nobody says what it means. Give it a description in its shape, or a"
            " line in tests/docs_meant.py"
        )
    return str(meant)


def _written(of: Mapping[str, Any], shapes: Mapping[str, Any]) -> str:
    """How a value is written: "`17.0 mm`", "text", "a list of codes", "one of …"."""
    kinds = [one for one in of.get("anyOf", [of]) if one.get("type") != "null"]
    told = " or ".join(dict.fromkeys(_kind(one, shapes) for one in kinds))
    default = of.get("default")
    if isinstance(default, str | bool | int) and default not in ("", 0):
        told += f"; else `{str(default).lower() if isinstance(default, bool) else default}`"
    return told


def _kind(one: Mapping[str, Any], shapes: Mapping[str, Any]) -> str:
    if "$ref" in one:
        shape = shapes[one["$ref"].rpartition("/")[2]]
        return "an entry, see below" if "properties" in shape else _kind(shape, shapes)
    if words := one.get("enum") or ([one["const"]] if "const" in one else []):
        shown = ", ".join(f"`{word}`" for word in words[:_MOST_WORDS])
        return f"{shown} …" if len(words) > _MOST_WORDS else shown
    if examples := one.get("examples"):
        return f"such as `{examples[0]}`"
    kind = one.get("type")
    if kind == "array":
        inside = one.get("items")
        if not isinstance(inside, dict):
            return "two values"
        each = _written(inside, shapes)
        return f"a list of {_SEVERAL[each]}" if each in _SEVERAL else f"a list, each {each}"
    if kind in ("integer", "number"):
        return (
            f"a number from {one['minimum']} to {one['maximum']}"
            if "maximum" in one
            else "a number"
        )
    if kind == "string" and one.get("format") == "date":
        return "a day, `2021-03-14`"
    if kind == "string":
        return "a code" if one.get("maxLength") == 40 else "text"
    return {"boolean": "`true` or `false`", "object": "a mapping"}.get(str(kind), "anything")


def workbook() -> str:
    """The sheets of a workbook with their columns."""
    rows = (
        (
            sheet.name,
            sheet.about,
            ", ".join(
                f"**{column.heading}**" if column.required else column.heading
                for column in sheet.headings
            ),
        )
        for sheet in sheets()
    )
    return _table(("sheet", "a row is", "columns"), rows)


# Keys of JSON.


def json_keys() -> str:
    """Every command that prints JSON with its keys, nested, each number with its unit."""
    trees: dict[str, dict[str, Any]] = defaultdict(dict)
    with _KEYS.open(encoding="utf-8", newline="") as file:
        for row in csv.DictReader(file):
            node = trees[_command(row["command"])]
            for part in row["key"].split("."):
                node = node.setdefault(part, {})
            if row["unit"]:
                node[""] = row["unit"]
    alike: dict[str, list[str]] = defaultdict(list)
    for command, tree in trees.items():
        alike[_told(tree)].append(command)
    return "\n\n".join(
        f"**{', '.join(f'`kitting {command}`' for command in told)}**: {keys}"
        for keys, told in alike.items()
    )


def _told(tree: Mapping[str, Any]) -> str:
    """The keys of a command; some print a list at the top."""
    entry = {key: below for key, below in tree.items() if key not in (_LIST, "")}
    told = [_nested(_merged(entry))] if entry else []
    if _LIST in tree:
        told.append(f"a list, of each {_nested(_merged(tree[_LIST]))}")
    return "; or ".join(told)


def _command(case: str) -> str:
    """The command of a case of the table: "booking show" of "booking show ordered"."""
    first, *rest = case.split()
    names = {name for some in COMMANDS.values() for name in some}
    assert first in names, case
    return f"{first} {rest[0]}" if rest and _is_group(first) else first


def _is_group(name: str) -> bool:
    import typer.main

    return hasattr(typer.main.get_command(app).get_command(None, name), "list_commands")  # type: ignore[attr-defined, arg-type]


def _merged(tree: Mapping[str, Any]) -> dict[str, Any]:
    """`needs` and `needs[]` as one."""
    found: dict[str, Any] = {}
    for key, below in tree.items():
        plain = re.sub(r"(\[\])+$", "", key)
        if key == "":
            found[""] = below
        else:
            found[plain] = {**found.get(plain, {}), **_merged(below)}
    return found


def _nested(tree: Mapping[str, Any]) -> str:
    """Keys with what is below each; of several alike in a row it is said once."""
    told: list[tuple[list[str], str]] = []
    for key, below in tree.items():
        if not key:
            continue
        inside = _nested(below)
        end = (f" *{below['']}*" if "" in below else "") + (f" ({inside})" if inside else "")
        if inside and told and told[-1][1] == end:
            told[-1][0].append(f"`{key}`")
        else:
            told.append(([f"`{key}`"], end))
    return ", ".join(
        f"{', '.join(keys)}{', each' if len(keys) > 1 else ''}{end}" for keys, end in told
    )


TABLES = {
    "map": map_of_pages,
    "fields": fields,
    "workbook": workbook,
    "json-keys": json_keys,
}
