"""Decimal commas that cut a figure in two where a comma begins another entry."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from kitting.files.catalogue.fault_words import in_short

if TYPE_CHECKING:
    from kitting.files.catalogue.lines import Place


@dataclass(frozen=True, slots=True)
class Cut:
    """A figure that its decimal comma cut in two, and the place of the first half."""

    place: Place
    first: str
    second: str
    in_braces: bool

    @property
    def written(self) -> str:
        return in_short(f"{self.first},{self.second}")

    @property
    def meant(self) -> str:
        return in_short(f"{self.first}.{self.second}")


def cut_by_comma(raw: Any, place: Place) -> Cut | None:
    """The figure that a place holds a half of: `{length: 2,5 mm}` is 2 and an entry "5 mm".

    In braces the second half is a key without a value; in brackets the next item of the list, with
    the unit and no space before it.
    """
    *way, last = place
    node = raw
    for key in way:
        try:
            node = node[key]
        except (KeyError, IndexError, TypeError):
            return None
    if not isinstance(node, dict | list) or not node.fa.flow_style():  # type: ignore[union-attr]
        return None
    keys = list(node) if isinstance(node, dict) else list(range(len(node)))
    if last not in keys:
        return None
    at = keys.index(last)
    for one, other in zip(keys[max(0, at - 1) : at + 1], keys[max(0, at - 1) + 1 :], strict=False):
        first = str(node[one])
        if isinstance(node, dict):
            second, cut = str(other), node[other] is None and first[-1:].isdigit()
        else:
            second = str(node[other])
            columns: Any = node
            starts = [columns.lc.item(key)[1] for key in (one, other)]
            touching = starts[0] + len(first) + 1 == starts[1]
            cut = one == last and first.isdigit() and touching and not second.isdigit()
        if cut and second[:1].isdigit():
            return Cut((*way, one), first, second, isinstance(node, dict))
    return None
