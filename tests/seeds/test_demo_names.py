"""The items of the demo garage have German names, with the figures of the English ones."""

from __future__ import annotations

import re

import pytest
from catalogues import read

from kitting.files.catalogue.item_shapes import Item
from kitting.services.demo import FILES

ITEMS: dict[str, Item] = {item.code: item for file in FILES for item in read(file).items}
_FIGURE = re.compile(r"\d+(?:\.\d+)?|×|\bM\d+|\bmm\b|\bPTFE\b|\bEPDM\b")


def test_the_demo_has_items() -> None:
    assert len(ITEMS) > 80


@pytest.mark.parametrize("code", ITEMS)
def test_every_item_has_a_german_name_with_the_same_figures(code: str) -> None:
    item = ITEMS[code]
    assert set(item.names) == {"de"}
    assert item.names["de"] != item.name
    assert _FIGURE.findall(item.names["de"]) == _FIGURE.findall(item.name)
