"""Branches and suppliers in catalogue files: loaded, checked, faults told by line."""

from __future__ import annotations

from datetime import date, time
from pathlib import Path

import pytest
from sqlalchemy import Engine, select, update

from helpers import NOW, booked, load, priced, shop, source
from kitting.errors import FileProblemsError
from kitting.files.catalogue.source import parse_catalogue
from kitting.services.catalogue.load import load_sources
from kitting.services.purchasing.purchase import buy
from kitting.store import reading
from kitting.tables.supply import Branch, Supplier, SupplierClosing, SupplierCutoff
from kitting.wording.orders import cutoff_there

SUPPLIER = """
suppliers:
  - code: quandrel
    name: Quandrel Seals
    carriage: 6.95 GBP
    carriage_free: 50.00 GBP
    cutoffs: ["12:00", "16:30"]
    lead_days: 3
    late_days: 5
    country: GB
    subdivision: ENG
    closed: [{day: 2026-04-10, reason: stocktaking}]
    restocking: 15 %
branches:
  - {code: upper, name: Upper Yard, country: GB, subdivision: ENG, van_cutoff: "15:00"}
"""


def test_a_supplier_is_loaded_with_its_terms_and_loading_again_changes_nothing(
    store: Engine,
) -> None:
    load(store, SUPPLIER)
    again = load(store, SUPPLIER).counts
    assert all(count.added == count.changed == count.removed == 0 for count in again.values())
    with reading(store) as session:
        supplier = session.scalars(select(Supplier)).one()
        assert (supplier.carriage, supplier.carriage_free, supplier.minimum_order) == (695, 5000, 0)
        assert (supplier.typical, supplier.late, supplier.restocking) == (3, 5, 15_000)
        assert session.scalars(select(SupplierCutoff.at).order_by("at")).all() == ["12:00", "16:30"]
        assert session.scalars(select(SupplierClosing.reason)).all() == ["stocktaking"]
        assert session.scalars(select(Branch.van_cutoff)).all() == ["15:00"]


def test_a_closing_day_that_the_file_no_longer_names_goes(lite: Engine) -> None:
    load(lite, SUPPLIER)
    load(lite, SUPPLIER.replace("closed: [{day: 2026-04-10, reason: stocktaking}]", "closed: []"))
    with reading(lite) as session:
        assert session.scalars(select(SupplierClosing)).all() == []


@pytest.mark.parametrize(
    ("old", "new", "told"),
    [
        ("late_days: 5", "late_days: 2", "late_days is less than lead_days"),
        ("carriage: 6.95 GBP", "carriage: 6.95 EUR", "not in the supplier's currency, GBP"),
        ('"12:00"', '"25:00"', "no time of day"),
        ("15 %", "15", "no share"),
        ("cutoffs: [", "cutoff: [", "cutoff"),
    ],
)
def test_terms_that_cannot_be_are_told_with_their_line(old: str, new: str, told: str) -> None:
    found, problems = parse_catalogue("x.yaml", SUPPLIER.replace(old, new))
    assert found is None
    assert any(told in str(problem) for problem in problems), problems
    assert all(problem.line > 1 for problem in problems)


@pytest.mark.parametrize(
    ("text", "told"),
    [
        (SUPPLIER.replace("country: GB\n", "country: ZZ\n"), "supplier quandrel"),
        (SUPPLIER.replace("country: GB, sub", "country: ZZ, sub"), "branch upper"),
        (SUPPLIER + '  - {code: upper, name: Again}\n', "branch upper: described a second time"),
    ],
)  # fmt: skip
def test_unknown_countries_and_repeated_codes_stop_the_load(
    lite: Engine, text: str, told: str
) -> None:
    with pytest.raises(FileProblemsError) as caught:
        load_sources(lite, [source(text)])
    assert told in str(caught.value)
    with reading(lite) as session:
        assert session.scalars(select(Supplier)).all() == []


def test_p17_a_supplier_abroad_is_ordered_from_by_its_own_clock(
    lite: Engine, tmp_path: Path
) -> None:
    """16:00 in Berlin is 15:00 in London; without a zone it is said whose clock counts."""
    load(lite, shop({"X1": {"RING": 3}}))
    priced(lite, tmp_path, "prompt", "P-R,RING,2.90 GBP,1 each")
    number = booked(lite, "X1", on=date(2026, 6, 1)).number
    told = []
    for here, there in ((None, None), ("Europe/London", None), ("Europe/London", "Europe/Berlin")):
        with lite.begin() as connection:
            connection.execute(update(Branch).values(zone=here))
            connection.execute(update(Supplier).values(zone=there))
        with reading(lite) as session:
            (parcel,) = buy(session, [number], NOW).parcels
        told.append((parcel.cutoff.time(), parcel.minutes_left, cutoff_there(parcel.there)))
    assert told == [
        (time(16), 100, "; by our clock, no time zone is stated"),
        (time(16), 100, "; by our clock, the supplier's time zone is not stated"),
        (time(15), 40, "; there Thu 16:00, Europe/Berlin"),
    ]
    with pytest.raises(FileProblemsError, match="no time zone"):
        load(lite, SUPPLIER.replace("lead_days: 3", "lead_days: 3\n    zone: Europe/Brelin"))
