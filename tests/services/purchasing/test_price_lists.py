"""Price lists: taken over whole or not at all, the same again changes nothing."""

from __future__ import annotations

from pathlib import Path

import pytest
from sqlalchemy import Engine, select

from helpers import PRICE_HEADING, listed, load, priced, shop
from kitting.errors import FileProblemsError, UnknownNameError
from kitting.files.lists.prices import read_column_map
from kitting.services.purchasing import price_lists as prices
from kitting.services.purchasing.price_lists import load_prices
from kitting.tables.items import Item
from kitting.tables.supply import Offer, OfferPrice, Supplier

ROWS = (
    "P-R,RING,0.42 GBP,1 each,100,0.31 GBP,no",
    "P-TEN,RING,8.40 GBP,10 each,,,yes",
    "X-9,,1.00 GBP,1 each",
)


def offers(engine: Engine) -> list[tuple[str, str, str | None, int, bool, list[tuple[int, int]]]]:
    """Supplier, part, item, pack, returnable, prices; by supplier and part."""
    found: list[tuple[str, str, str | None, int, bool, list[tuple[int, int]]]] = []
    with engine.connect() as connection:
        rows = connection.execute(
            select(Offer.id, Supplier.code, Offer.part, Item.code, Offer.pack, Offer.returnable)
            .join(Supplier, Offer.supplier_id == Supplier.id)
            .outerjoin(Item, Offer.item_id == Item.id)
            .order_by(Supplier.code, Offer.part)
        ).all()
        for key, supplier, part, item, pack, returnable in rows:
            priced_from = connection.execute(
                select(OfferPrice.from_packs, OfferPrice.price)
                .where(OfferPrice.offer_id == key)
                .order_by(OfferPrice.from_packs)
            )
            steps = [(start, price) for start, price in priced_from]
            found.append((supplier, part, item, pack, returnable, steps))
    return found


LOADED = [
    ("prompt", "P-R", "RING", 1000, False, [(1, 42), (100, 31)]),
    ("prompt", "P-TEN", "RING", 10_000, True, [(1, 840)]),
    ("prompt", "X-9", None, 1000, False, [(1, 100)]),
]


def test_a_list_is_taken_over_and_the_same_again_changes_nothing(
    store: Engine, tmp_path: Path
) -> None:
    load(store, shop({"X1": {"RING": 1}}))
    first = priced(store, tmp_path, "prompt", *ROWS)
    assert (first.supplier, first.rows, first.known, first.new, first.gone) == (
        "prompt", 3, 2, 3, 0,
    )  # fmt: skip
    assert offers(store) == LOADED
    again = priced(store, tmp_path, "PROMPT", *ROWS)
    assert (again.rows, again.known, again.new, again.gone) == (3, 2, 0, 0)
    assert offers(store) == LOADED


def test_parts_that_a_new_list_no_longer_names_are_gone_of_this_supplier_only(
    store: Engine, tmp_path: Path
) -> None:
    load(store, shop({"X1": {"RING": 1}}))
    priced(store, tmp_path, "prompt", *ROWS)
    priced(store, tmp_path, "slow", "P-R,RING,0.10 GBP,1 each")
    report = priced(store, tmp_path, "prompt", "P-R,RING,0.50 GBP,2 each", "NEW,RING,1.00 GBP,1 each")  # fmt: skip
    assert (report.rows, report.new, report.gone) == (2, 1, 2)
    assert offers(store) == [
        ("prompt", "NEW", "RING", 1000, False, [(1, 100)]),
        ("prompt", "P-R", "RING", 2000, False, [(1, 50)]),
        ("slow", "P-R", "RING", 1000, False, [(1, 10)]),
    ]


def test_a_dry_run_reports_and_keeps_nothing(store: Engine, tmp_path: Path) -> None:
    load(store, shop({"X1": {"RING": 1}}))
    priced(store, tmp_path, "prompt", *ROWS)
    path = listed(tmp_path, PRICE_HEADING, "NEW,RING,9.00 GBP,1 each")
    report = load_prices(store, "prompt", path, dry_run=True)
    assert (report.rows, report.new, report.gone, report.dry_run) == (1, 1, 3, True)
    assert offers(store) == LOADED


def test_every_bad_row_is_told_and_the_old_list_stays(store: Engine, tmp_path: Path) -> None:
    load(store, shop({"X1": {"RING": 1}}))
    priced(store, tmp_path, "prompt", *ROWS)
    with pytest.raises(FileProblemsError) as caught:
        priced(
            store, tmp_path, "prompt",
            "GOOD,RING,9.00 GBP,1 each",
            "A,RIGN,9.00 GBP,1 each",
            "B,RING,9.00 EUR,1 each",
            "C,RING,9.00 GBP,70 ml",
            "D,RING,free,1 each",
            "GOOD,RING,8.00 GBP,1 each",
            "E,RING,9.00 GBP,1 each,10,10.00 GBP",
            ",RING,9.00 GBP,1 each",
        )  # fmt: skip
    told = {p.line: (p.thing, p.reason, p.next_step) for p in caught.value.problems}
    assert sorted(told) == [3, 4, 5, 6, 7, 8, 9]
    assert told[3] == ("part A", "unknown item 'RIGN'", "Did you mean RING?")
    assert told[4] == (
        "part B", "priced in EUR, but prompt is paid in GBP", "Give one currency",
    )  # fmt: skip
    assert told[5] == (
        "part C",
        "the pack is given in ml, but RING is stocked in each",
        "Give it in each; or, if the item is stocked in ml, state 'unit: ml' of it",
    )
    assert told[7] == ("part GOOD", "it stands on line 2 already", "Keep one of the two")
    assert offers(store) == LOADED


def test_a_part_called_as_an_item_is_that_item_unless_its_unit_is_another(
    store: Engine, tmp_path: Path
) -> None:
    load(store, shop({"X1": {"RING": 1}}))
    report = priced(store, tmp_path, "prompt", "RING,,0.42 GBP,1 each", "BOLT,,0.42 GBP,70 ml")
    assert (report.rows, report.known) == (2, 1)
    assert [(part, item) for _, part, item, *_ in offers(store)] == [("BOLT", None), ("RING", "RING")]  # fmt: skip


def test_columns_of_a_suppliers_own_list_are_mapped(store: Engine, tmp_path: Path) -> None:
    load(store, shop({"X1": {"RING": 1}}))
    mapped = tmp_path / "columns.yaml"
    mapped.write_text("{Ref: part, Ours: item, Cost: price, Per: pack, Shelf: ignore}\n", "utf-8")
    path = listed(tmp_path, "Ref,Ours,Cost,Per,Shelf", "P-R,RING,0.42,1 each,top")
    with pytest.raises(FileProblemsError, match="column 'ref': nothing reads this column"):
        load_prices(store, "prompt", path)
    assert offers(store) == []
    report = load_prices(store, "prompt", path, read_column_map(mapped))
    assert (report.rows, report.known) == (1, 1)
    # A bare figure is of the supplier's currency.
    assert offers(store) == [("prompt", "P-R", "RING", 1000, False, [(1, 42)])]


def test_more_rows_than_one_batch_are_loaded_whole_and_told_on_the_way(
    store: Engine, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(prices, "_BATCH", 2000)
    load(store, shop({"X1": {"RING": 1}}))
    rows = [f"P-{no:05d},RING,0.{no % 90 + 10} GBP,1 each" for no in range(4501)]
    heard: list[int] = []
    path = listed(tmp_path, PRICE_HEADING, *rows)
    report = load_prices(store, "prompt", path, listener=heard.append)
    assert (report.rows, report.new, heard) == (4501, 4501, [2000, 4000])
    found = offers(store)
    assert len(found) == 4501
    assert found[4500] == ("prompt", "P-04500", "RING", 1000, False, [(1, 10)])
    bad = listed(tmp_path, PRICE_HEADING, *rows, "LAST,RIGN,1.00 GBP,1 each")
    with pytest.raises(FileProblemsError) as caught:
        load_prices(store, "prompt", bad)
    assert [p.line for p in caught.value.problems] == [4503]
    assert len(offers(store)) == 4501


def test_an_unknown_supplier_is_told_with_those_known(lite: Engine, tmp_path: Path) -> None:
    load(lite, shop({"X1": {"RING": 1}}))
    with pytest.raises(
        UnknownNameError, match=r"supplier 'promt': unknown name\. Did you mean prompt\?"
    ):
        priced(lite, tmp_path, "promt", *ROWS)
