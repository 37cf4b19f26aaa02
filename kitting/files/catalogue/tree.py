"""Trees of a file that know their lines: copies with something changed, each line kept."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from typing import Any


def copied(node: Any, change: Callable[[Any], Any]) -> Any:
    """A copy of a mapping or list with each value changed; it knows the lines of the original."""
    if isinstance(node, dict):
        new = type(node)()
        for key, value in node.items():
            new[key] = change(value)
        return _as_placed(node, new)
    if isinstance(node, list):
        new_list = type(node)()
        new_list.extend(change(value) for value in node)
        return _as_placed(node, new_list)
    return node


def replaced(node: Any, key: str, value: Any) -> Any:
    """A copy of a mapping with one value put in the place of another, or added as its last."""
    new = copied(node, lambda one: one)
    line = line_in(node, key)
    new[key] = value
    if key not in node and hasattr(new, "_yaml_set_kv_line_col"):
        new._yaml_set_kv_line_col(key, [line, 0, line, 0])
    return new


def without(node: Any, *keys: str) -> Any:
    """A copy of a mapping without some keys."""
    new = copied(node, lambda one: one)
    for key in keys:
        new.pop(key, None)
    return new


def listed(like: Any, entries: Iterable[tuple[Any, int]]) -> Any:
    """A list of the sort of another, of entries each with its line (from 0)."""
    new = type(like)()
    for index, (entry, line) in enumerate(entries):
        new.append(entry)
        if hasattr(new, "_yaml_set_idx_line_col"):
            new._yaml_set_idx_line_col(index, [line, 0])
    return new


def mapped(like: Any, entries: Iterable[tuple[str, Any, int]]) -> Any:
    """A mapping of the sort of another, of entries each with its line (from 0)."""
    new = type(like)()
    for key, value, line in entries:
        new[key] = value
        if hasattr(new, "_yaml_set_kv_line_col"):
            new._yaml_set_kv_line_col(key, [line, 0, line, 0])
    return new


def line_in(node: Any, key: str | int) -> int:
    """The line (from 0) of an entry of a mapping or list; that of the whole where it has none."""
    lines = getattr(node, "lc", None)
    if lines is None:
        return 0
    try:
        found: int = (lines.key(key) if isinstance(node, dict) else lines.item(key))[0]
    except (KeyError, IndexError, TypeError, AttributeError):
        found = lines.line or 0
    return found


def _as_placed(node: Any, new: Any) -> Any:
    if hasattr(node, "copy_attributes"):
        node.copy_attributes(new)
        lines = node.lc
        # Its own table of lines: what is added to the copy is not in the original.
        new._yaml_line_col = type(lines)()
        new._yaml_line_col.line, new._yaml_line_col.col = lines.line, lines.col
        if lines.data:
            new._yaml_line_col.data = dict(lines.data)
    return new


def new_mapping(line: int) -> Any:
    """A mapping that stands on a line (from 0)."""
    from ruamel.yaml.comments import CommentedMap

    return _begun(CommentedMap(), line)


def new_list(line: int) -> Any:
    """A list that stands on a line (from 0)."""
    from ruamel.yaml.comments import CommentedSeq

    return _begun(CommentedSeq(), line)


def on_line(node: Any, key: Any, line: int) -> None:
    """Say the line (from 0) of an entry of a mapping or list; its column stays."""
    column = (node.lc.data or {}).get(key, [line, 0])[1]
    keyed = isinstance(node, dict)
    place = node._yaml_set_kv_line_col if keyed else node._yaml_set_idx_line_col
    place(key, [line, column, line, column] if keyed else [line, column])


def _begun(node: Any, line: int) -> Any:
    node._yaml_set_line_col(line, 0)
    return node
