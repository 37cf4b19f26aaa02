"""Branches and suppliers in catalogue files: loaded, checked, faults told by line."""

from __future__ import annotations

import pytest
from sqlalchemy import Engine, select

from helpers import load, source
from kitting.errors import FileProblemsError
from kitting.files.catalogue.source import parse_catalogue
from kitting.services.catalogue.load import load_sources
from kitting.store import reading
from kitting.tables.supply import Branch, Supplier, SupplierClosing, SupplierCutoff

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
