"""A catalogue as YAML in one way only: the order of the shapes, short entries in one line."""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence
from io import StringIO
from typing import Any

_WIDTH = 100
_SHORT = 90  # an entry without entries of its own stands in one line if that is no longer


def catalogue_text(sections: Mapping[str, Any], head: Sequence[str]) -> str:
    """The sections as a file, under some lines of comment."""
    from ruamel.yaml import YAML

    yaml = YAML(typ="rt")
    yaml.width, yaml.allow_unicode, yaml.default_flow_style = _WIDTH, True, False
    yaml.indent(mapping=2, sequence=4, offset=2)
    target = StringIO()
    for line in head:
        target.write(f"# {' '.join(line.split())}\n")
    target.write("\n")
    if sections:
        yaml.dump(_laid_out(sections), target)
    return target.getvalue()


def in_one_line(value: Any) -> str | None:
    """A value as a file states it, in one line; None where it is not stated."""
    if value is None or isinstance(value, str):
        return value
    return _flow(value)


def _flow(value: Any) -> str:
    if isinstance(value, Mapping):
        return f"{{{', '.join(f'{key}: {_flow(one)}' for key, one in value.items())}}}"
    if isinstance(value, list | tuple):
        return f"[{', '.join(map(_flow, value))}]"
    if isinstance(value, bool):
        return str(value).lower()
    if isinstance(value, str) and _needs_quotes(value):
        return json.dumps(value, ensure_ascii=False)
    return str(value)


def _laid_out(node: Any) -> Any:
    """The same with lists and mappings that lie in one line where that is short."""
    from ruamel.yaml.comments import CommentedMap, CommentedSeq
    from ruamel.yaml.scalarstring import DoubleQuotedScalarString

    if isinstance(node, Mapping):
        made = CommentedMap((_laid_out(key), _laid_out(value)) for key, value in node.items())
        if _is_short(node):
            made.fa.set_flow_style()
        return made
    if isinstance(node, list | tuple):
        listed = CommentedSeq(_laid_out(one) for one in node)
        if _is_short(node):
            listed.fa.set_flow_style()
        return listed
    if isinstance(node, str) and _needs_quotes(node):
        return DoubleQuotedScalarString(node)
    return node


def _is_short(node: Any) -> bool:
    values = list(node.values()) if isinstance(node, Mapping) else list(node)
    plain = all(not isinstance(one, Mapping | list | tuple) or _flat(one) for one in values)
    return plain and len(str(node)) <= _SHORT


def _flat(node: Any) -> bool:
    """Whether a list has nothing but plain values."""
    return isinstance(node, list | tuple) and not any(
        isinstance(one, Mapping | list | tuple) for one in node
    )


def _needs_quotes(text: str) -> bool:
    """Whether a text that is a number, or has signs that braces read, goes in quotes."""
    return any(sign in text for sign in ",[]{}#:&*!|>'\"%@`") or not text[:1].isalpha()
