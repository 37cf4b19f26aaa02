"""Migrations: up to head, down again, no drift, constraints that hold on both engines."""

from __future__ import annotations

from datetime import date, datetime
from pathlib import Path

import pytest
from alembic import command
from alembic.autogenerate import compare_metadata
from alembic.migration import MigrationContext
from alembic.script import ScriptDirectory
from kits import at, kit, piece, sound, to_the_ramp, why, yard
from sqlalchemy import Engine, delete, func, insert, inspect, select, text, update
from sqlalchemy.exc import DBAPIError, IntegrityError
from sqlalchemy.orm import Session

from helpers import NOW, ON, booked, load, priced, shop, source, stock
from kitting.actions import Action, next_step
from kitting.errors import KittingError, StoreError
from kitting.facts.car_facts import CarFact
from kitting.facts.found_fields import FoundField
from kitting.facts.units import Quantity
from kitting.facts.weights import parse_weight
from kitting.facts.words import FindingResult, MovementKind, RefitOutcome, ShelfPolicy
from kitting.files.pictures import Picture
from kitting.schema import HEAD
from kitting.services.bookings.close import Closing, close
from kitting.services.bookings.findings import as_told, record_findings
from kitting.services.bookings.kit_moves import draw
from kitting.services.bookings.kit_place import move_kit
from kitting.services.cars.add import CarEntry, add_car
from kitting.services.cars.found_parts import found_parts, note_part
from kitting.services.cars.notes import note_car
from kitting.services.cars.owners import set_owner, show_owner
from kitting.services.cars.view import car_view
from kitting.services.catalogue.load import load_sources
from kitting.services.catalogue.photos import Shows, add_photo, list_photos
from kitting.services.catalogue.setup import seeds, set_up
from kitting.services.catalogue.words import word_lists
from kitting.services.demo import FILES, load_demo_lists
from kitting.services.purchasing.announcements import Announcement, announce
from kitting.services.purchasing.order_view import find_order, order_view
from kitting.services.purchasing.orders import place
from kitting.services.stock.holds import put_on_hold, release
from kitting.services.stock.ledger import Move, post_all
from kitting.services.stock.shelves import LotName, list_stock
from kitting.services.stock.transfers import send
from kitting.store import (
    alembic_config,
    current_revision,
    make_engine,
    migrate,
    open_existing,
    reading,
    writing,
)
from kitting.tables.all import Base
from kitting.tables.bookings import Booking, Finding, FindingCorrection, Promise
from kitting.tables.editions import CatalogueOrigin, OriginOf
from kitting.tables.items import Item, ItemName
from kitting.tables.photos import Photo
from kitting.tables.ramps import BookingPrice, BookingSlot, Ramp
from kitting.tables.stock import Lot, Movement, Transfer
from kitting.tables.supply import Branch, OrderLine, PurchaseOrder, Supplier
from kitting.tables.toolbox import Tool
from kitting.tables.units import Fit, Stage, Tightening
from kitting.tables.vehicles import Refit
from kitting.tables.vocabulary import Kind, KindRule, OtherWord
from kitting.views.words import WordView


def downgraded(engine: Engine, revision: str) -> None:
    config = alembic_config()
    with engine.begin() as connection:
        config.attributes["connection"] = connection
        command.downgrade(config, revision)


def test_the_head_that_the_program_names_is_the_newest_script() -> None:
    assert ScriptDirectory.from_config(alembic_config()).get_heads() == [HEAD]


def test_the_migrated_database_equals_the_tables(store: Engine) -> None:
    with store.connect() as connection:
        context = MigrationContext.configure(connection, opts={"compare_type": True})
        assert compare_metadata(context, Base.metadata) == []


def test_every_constraint_has_a_name(store: Engine) -> None:
    found = inspect(store)
    for table in Base.metadata.tables:
        for constraint in (
            *found.get_foreign_keys(table),
            *found.get_unique_constraints(table),
            *found.get_check_constraints(table),
        ):
            assert constraint["name"], (table, constraint)


def test_downgrading_takes_every_table_out_again(store: Engine) -> None:
    downgraded(store, "base")
    assert set(inspect(store).get_table_names()) <= {"alembic_version"}
    migrate(store)
    assert current_revision(store) == HEAD


def row_counts(engine: Engine) -> dict[str, int]:
    with engine.connect() as connection:
        return {
            name: connection.execute(select(func.count()).select_from(table)).scalar_one()
            for name, table in Base.metadata.tables.items()
            if inspect(connection).has_table(name)
        }


def rules_by_medium(engine: Engine) -> int:
    """Rules that a former revision cannot tell: they go, so that they do not hold everywhere."""
    with reading(engine) as session:
        named = select(func.count()).where(KindRule.medium.is_not(None))
        found = session.scalar(named)
    assert found
    return found


REVISIONS = sorted(
    one.revision for one in ScriptDirectory.from_config(alembic_config()).walk_revisions()
)


@pytest.mark.parametrize("revision", REVISIONS[:-1])
def test_going_down_and_up_again_keeps_every_row(garage: Engine, revision: str) -> None:
    before = row_counts(garage)
    if revision < "0008":
        before["kind_rule"] -= rules_by_medium(garage)
    downgraded(garage, revision)
    down = row_counts(garage)
    assert down == {name: count for name, count in before.items() if name in down}
    assert down["fit"] > 50
    migrate(garage)
    after = row_counts(garage)
    assert {name: after[name] for name in down} == down


def test_a_dangling_row_is_refused(store: Engine) -> None:
    row = {"code": "X", "name": "X", "kind_id": 999_999, "unit": "each", "sold_singly": True}
    with pytest.raises(IntegrityError), store.begin() as connection:
        connection.execute(insert(Item), row)


def test_a_kind_that_items_are_of_cannot_be_removed(garage: Engine) -> None:
    with pytest.raises(IntegrityError), garage.begin() as connection:
        connection.execute(delete(Kind).where(Kind.code == "o-ring"))


def test_a_quantity_of_nothing_is_refused(garage: Engine) -> None:
    with pytest.raises(IntegrityError), garage.begin() as connection:
        connection.execute(Fit.__table__.update().values(quantity=0))


def test_a_missing_database_is_not_created_by_opening_it(tmp_path: Path) -> None:
    with pytest.raises(StoreError, match="there is no database at ") as caught:
        open_existing(f"sqlite:///{tmp_path / 'none.db'}")
    assert caught.value.then == (next_step(Action.SET_UP), next_step(Action.NAME_DATABASE))
    assert list(tmp_path.iterdir()) == []


def test_a_database_that_is_not_set_up_says_what_to_run(tmp_path: Path) -> None:
    make_engine(f"sqlite:///{tmp_path / 'bare.db'}").connect().close()
    with pytest.raises(StoreError, match=r"is not set up$") as caught:
        open_existing(f"sqlite:///{tmp_path / 'bare.db'}")
    assert caught.value.then == (next_step(Action.SET_UP),)


def test_a_database_of_another_revision_is_not_touched(lite: Engine) -> None:
    with lite.begin() as connection:
        connection.exec_driver_sql("UPDATE alembic_version SET version_num = '9999'")
    with pytest.raises(StoreError, match="of revision 9999, this program needs"):
        open_existing(str(lite.url))


def test_a_file_that_is_no_database_is_told_so(tmp_path: Path) -> None:
    (tmp_path / "text.db").write_text("this is no database, only text " * 100)
    with pytest.raises(StoreError, match="is no SQLite database"):
        open_existing(f"sqlite:///{tmp_path / 'text.db'}")
    assert (tmp_path / "text.db").read_text().startswith("this is no database")


@pytest.mark.parametrize("url", ["mysql://host/name", "nonsense", "oracle://x"])
def test_an_unsupported_address_is_refused(url: str) -> None:
    with pytest.raises(StoreError, match=url.split(":", maxsplit=1)[0]):
        make_engine(url)


def test_supply_goes_down_and_up_again_and_keeps_every_row_of_before(garage: Engine) -> None:
    before = row_counts(garage)
    before["kind_rule"] -= rules_by_medium(garage)
    assert min(before[name] for name in ("lot", "movement", "promise", "offer", "supplier")) > 0
    downgraded(garage, "0002")
    down = row_counts(garage)
    assert {"lot", "movement", "promise", "offer", "supplier", "branch"} & set(down) == set()
    assert down == {name: count for name, count in before.items() if name in down}
    assert min(down["tool"], down["fit"], down["item"]) > 10
    migrate(garage)
    after = row_counts(garage)
    assert {name: after[name] for name in down} == down
    assert {name: after[name] for name in set(after) - set(down)} == dict.fromkeys(
        set(before) - set(down), 0
    )


def test_movements_are_kept_after_going_down_and_up_again(garage: Engine) -> None:
    downgraded(garage, "0002")
    migrate(garage)
    load_sources(garage, seeds(FILES))
    load_demo_lists(garage)
    with garage.connect() as connection:
        moved = connection.scalar(select(func.count()).select_from(Movement))
    for change in (Movement.__table__.update().values(quantity=1), delete(Movement)):
        with pytest.raises(DBAPIError, match="movement"), garage.begin() as connection:
            connection.execute(change)
    with garage.connect() as connection:
        assert connection.scalar(select(func.count()).select_from(Movement)) == moved
        assert moved is not None
        assert moved > 20


def test_goods_on_the_way_keep_their_ends_over_the_revision_that_names_them(
    garage: Engine,
) -> None:
    at = datetime(2026, 4, 2, 14, 20)  # noqa: DTZ001 - times of the garage are local
    seals = LotName("canal", "SEAL-INTAKE", "SI-2503")
    number, _ = send(garage, seals, Quantity(2000, "each"), "upper", at)
    downgraded(garage, "0004")
    assert "from_branch_id" not in {c["name"] for c in inspect(garage).get_columns("transfer")}
    migrate(garage)
    with reading(garage) as session:
        transfer = session.get_one(Transfer, number)
        codes = dict(session.execute(select(Branch.id, Branch.code)).all())
    assert (transfer.quantity, transfer.arrived_at) == (2000, None)
    assert (codes[transfer.from_branch_id], codes[transfer.to_branch_id]) == ("canal", "upper")


def at_revision_6(engine: Engine, currencies: tuple[str, ...]) -> None:
    """Take a garage back to the former revision, its suppliers counting in some currencies."""
    downgraded(engine, "0006")
    with engine.begin() as connection:
        keys = sorted(connection.scalars(select(Supplier.id)))
        for place, key in enumerate(keys):
            currency = currencies[place % len(currencies)]
            connection.execute(update(Supplier).where(Supplier.id == key).values(currency=currency))
    assert "currency" not in {column["name"] for column in inspect(engine).get_columns("branch")}


@pytest.mark.parametrize(
    ("suppliers", "branches"), [(("EUR",), {"EUR"}), (("EUR", "GBP"), {"GBP"})]
)
def test_branches_count_in_the_one_currency_of_their_suppliers_else_in_the_former_default(
    garage: Engine, suppliers: tuple[str, ...], branches: set[str]
) -> None:
    at_revision_6(garage, suppliers)
    migrate(garage)
    with reading(garage) as session:
        assert set(session.scalars(select(Branch.currency))) == branches
        assert set(session.scalars(select(Branch.shelf_policy))) == {ShelfPolicy.ISO_2230}
        assert set(session.scalars(select(Booking.shelf_policy))) == {None}


@pytest.mark.parametrize("column", ["currency = 'EURO'", "shelf_policy = 'mine'"])
def test_a_currency_and_a_policy_that_nobody_knows_are_refused(garage: Engine, column: str) -> None:
    with pytest.raises(DBAPIError), garage.begin() as connection:
        connection.exec_driver_sql(f"UPDATE branch SET {column}")


POLICY = """
kinds:
  - code: moulded-ring
    name: press-in-place moulded ring
    family: ring
    rules: [{rule: renew, source: workshop, reference: our policy}]
"""


def test_a_database_of_the_former_revision_keeps_its_policy_and_gets_the_new_general_rules(
    store: Engine,
) -> None:
    """Policy stood between the general rules of a kind; rules for media were not known."""
    asked = (KindRule.kind_id, KindRule.source, KindRule.rule, KindRule.medium, KindRule.system_id)
    load_sources(store, [source(POLICY)])
    with reading(store) as session:
        wanted = sorted(map(str, session.execute(select(*asked))))
        kind = session.scalars(select(Kind.id).where(Kind.code == "moulded-ring")).one()
    downgraded(store, "0007")
    with store.begin() as connection:
        table = KindRule.__table__
        connection.execute(
            delete(table).where(table.c.kind_id == kind, table.c.source == "general")
        )
        connection.execute(update(table).where(table.c.kind_id == kind).values(seq=0))
    set_up(store.url.render_as_string(hide_password=False))
    with reading(store) as session:
        assert sorted(map(str, session.execute(select(*asked)))) == wanted
        policy = select(KindRule.seq).where(KindRule.source == "workshop")
        assert session.scalars(policy).all() == [10_000]


def test_a_wrench_of_a_former_revision_that_was_not_clockwise_only_states_no_direction(
    garage: Engine,
) -> None:
    """Nobody stated it: it was taken for both ways."""
    config = alembic_config()
    with garage.begin() as connection:
        config.attributes["connection"] = connection
        connection.execute(update(Tool).where(Tool.code == "W-5-25").values(direction="both"))
        connection.execute(
            update(Tool).where(Tool.code == "W-40-200").values(direction="clockwise")
        )
        command.downgrade(config, "0010")
    migrate(garage)
    wrenches = select(Tool.code, Tool.direction).where(Tool.code.in_(("W-5-25", "W-40-200")))
    with reading(garage) as session:
        found = {(code, direction) for code, direction in session.execute(wrenches)}
    assert found == {("W-5-25", None), ("W-40-200", "clockwise")}


def test_a_kind_has_one_plain_rule_of_a_source_and_one_for_each_medium(store: Engine) -> None:
    with reading(store) as session:
        kind = session.scalars(select(Kind.id).where(Kind.code == "hose")).one()
    row = {
        "kind_id": kind, "source": "general", "rule": "renew", "reference": "r",
        "relaxed_by": "maker",
    }  # fmt: skip
    with store.begin() as connection:
        connection.execute(insert(KindRule), {**row, "seq": 7, "medium": "petrol"})
    with pytest.raises(IntegrityError), store.begin() as connection:
        connection.execute(insert(KindRule), {**row, "seq": 8, "medium": None})


def test_an_opened_remainder_of_a_former_revision_gets_the_lot_it_was_opened_of(
    garage: Engine,
) -> None:
    """Its movements name that lot; where nothing tells it stays open."""
    at = datetime(2026, 4, 2, 14, 20)  # noqa: DTZ001 - times of the garage are local
    with writing(garage) as session:
        lot = session.scalars(select(Lot).where(Lot.code == "SI-2503")).one()
        known, unknown = (
            Lot(branch_id=lot.branch_id, item_id=lot.item_id, code=code, received_on=at.date())
            for code in ("SI-2503-OPEN-260402", "OTHER-OPEN-260402")
        )
        session.add_all([known, unknown])
        session.flush()
        post_all(session, [Move(lot.id, MovementKind.OPENED, -1000),
                           Move(known.id, MovementKind.OPENED, 1000, note="SI-2503")], at)  # fmt: skip
        session.commit()
    downgraded(garage, "0013")
    assert "batch" not in {column["name"] for column in inspect(garage).get_columns("lot")}
    migrate(garage)
    with reading(garage) as session:
        batches = dict(session.execute(select(Lot.code, Lot.batch)).all())
    assert batches["SI-2503-OPEN-260402"] == "SI-2503"
    assert {batch for code, batch in batches.items() if code != "SI-2503-OPEN-260402"} == {None}


def test_refits_keep_their_rows_and_what_was_renewed_has_gone_back_no_time(garage: Engine) -> None:
    downgraded(garage, "0009")
    row = "SELECT v.id, j.id, 'p', '{}', '2026-04-15', '{}', 2 FROM vehicle v, joint j"
    one = " WHERE v.id = (SELECT min(id) FROM vehicle) AND j.id = (SELECT min(id) FROM joint)"
    columns = "vehicle_id, joint_id, position, booking, on_date, outcome, times"
    with garage.begin() as connection:
        for booking, outcome in (("B0001", "renewed"), ("B0002", "refitted")):
            connection.execute(
                text(f"INSERT INTO refit ({columns}) {row.format(booking, outcome)}{one}")
            )
    migrate(garage)
    kept = select(Refit.booking, Refit.correction, Refit.times).order_by(Refit.booking)
    with writing(garage) as session:
        assert session.execute(kept).all() == [("B0001", 0, 0), ("B0002", 0, 2)]
        first = session.scalars(select(Refit).where(Refit.booking == "B0001")).one()
        session.add(
            Refit(
                vehicle_id=first.vehicle_id, joint_id=first.joint_id, position="p",
                booking="B0001", correction=1, on_date=first.on_date,
                outcome=RefitOutcome.REFITTED, times=1,
            )
        )  # fmt: skip
        session.commit()
    downgraded(garage, "0009")
    with garage.connect() as connection:
        told = connection.execute(text("SELECT booking FROM refit ORDER BY booking")).scalars()
        assert list(told) == ["B0001", "B0001/1", "B0002"]
    migrate(garage)


def test_kits_of_a_former_revision_have_lost_nothing_and_what_is_lost_was_scrapped_for_it(
    store: Engine, tmp_path: Path
) -> None:
    """Rows of 0014: a closed kit and an open one; back there, what is gone counts as scrapped."""
    yard(store, tmp_path, "RING,A,12 each,1Q25")
    done = to_the_ramp(store, kit(store, "RINGS"), {"x1": 4})
    close(store, done, Closing(), NOW)
    number = kit(store, "RINGS")
    downgraded(store, "0014")
    assert not inspect(store).has_table("kit_event")
    assert "lost" not in {column["name"] for column in inspect(store).get_columns("promise")}
    migrate(store)
    amounts = select(Promise.picked, Promise.used, Promise.scrapped, Promise.lost).order_by(
        Promise.id
    )
    with reading(store) as session:
        assert session.execute(amounts).all() == [(4000, 4000, 0, 0), (4000, 0, 0, 0)]
    sound(store)
    draw(store, number, piece("RING", 1), why(), at())
    with pytest.raises(IntegrityError), store.begin() as connection:
        connection.execute(update(Promise).where(Promise.lost > 0).values(lost=6000))
    downgraded(store, "0014")
    with store.connect() as connection:
        kept = connection.execute(text("SELECT picked, scrapped FROM promise ORDER BY id")).all()
    assert kept == [(4000, 0), (5000, 1000)]
    migrate(store)


def test_a_kit_that_was_moved_lies_at_its_booking_in_the_former_revision_and_the_rest_stays(
    store: Engine, tmp_path: Path
) -> None:
    number = kit(yard(store, tmp_path, "RING,A,6 each,1Q25"), "RINGS")
    draw(store, number, piece("RING", 1), why(), at())
    move_kit(store, number, "quay", why(), NOW)
    downgraded(store, "0025")
    with store.connect() as connection:
        kinds = connection.execute(text("SELECT kind, note FROM kit_event ORDER BY id")).all()
    assert kinds == [(kind, why().note) for kind in ("gone", "drawn")]
    unknown = text(
        "INSERT INTO kit_event (booking_id, at, kind) SELECT id, made_at, 'moved' FROM booking"
    )
    with pytest.raises(IntegrityError), store.begin() as connection:
        connection.execute(unknown)
    migrate(store)
    with pytest.raises(IntegrityError, match="moved_somewhere"), store.begin() as connection:
        connection.execute(unknown)
    move_kit(store, number, "quay", why(), NOW)
    sound(store)


@pytest.fixture
def ordered(store: Engine, tmp_path: Path) -> Engine:
    """An order of a line with the days of its supplier and one with days of its own."""
    load(store, shop({"X1": {"RING": 1, "BOLT": 1}}))
    priced(
        store, tmp_path, "slow", "P-R,RING,2.90 GBP,1 each,,", "P-B,BOLT,1.00 GBP,1 each,6,8",
        heading="part,item,price,pack,lead days,late days",
    )  # fmt: skip
    booked(store, "X1", on=date(2026, 6, 1))
    place(store, ["B0001"], NOW)
    return store


def due(engine: Engine) -> tuple[tuple[date, date], set[tuple[date | None, date | None]]]:
    """The days of the only order, and those of its lines."""
    with reading(engine) as session:
        order = session.execute(select(PurchaseOrder.due, PurchaseOrder.due_late)).one()
        lines = session.execute(select(OrderLine.due, OrderLine.due_late)).all()
    return (order[0], order[1]), {(line[0], line[1]) for line in lines}


def test_days_of_single_lines_are_those_of_their_order_in_the_former_revision(
    ordered: Engine,
) -> None:
    """There an order is due with its last line, and what was ordered has the days of its order."""
    usual, own = (date(2026, 4, 10), date(2026, 4, 14)), (date(2026, 4, 15), date(2026, 4, 17))
    assert due(ordered) == (usual, {(None, None), own})
    downgraded(ordered, "0015")
    assert "due" not in {column["name"] for column in inspect(ordered).get_columns("order_line")}
    migrate(ordered)
    assert due(ordered) == (own, {(None, None)})


@pytest.mark.parametrize("days", [
    "due = '2026-09-01', due_late = NULL", "due = '2026-09-05', due_late = '2026-09-01'",
])  # fmt: skip
def test_days_of_a_line_that_cannot_be_are_refused(ordered: Engine, days: str) -> None:
    with pytest.raises(IntegrityError), ordered.begin() as connection:
        connection.execute(text(f"UPDATE order_line SET {days}"))


def test_what_was_announced_is_forgotten_in_the_former_revision_and_the_order_stays(
    ordered: Engine,
) -> None:
    """There each line has the days it was ordered with: its own, else those of the order."""
    usual, own = date(2026, 4, 10), date(2026, 4, 15)
    said = Announcement(date(2026, 4, 20), "BOLT", why="strike")
    view = announce(ordered, "P0001", said, NOW)
    days = {line.item: (line.due, line.due_late) for line in view.lines}
    # The late day of the bolt stays two days behind, as it was ordered.
    assert days["BOLT"] == (date(2026, 4, 20), date(2026, 4, 22))
    assert days["RING"] == (usual, date(2026, 4, 14))
    downgraded(ordered, "0016")
    assert not inspect(ordered).has_table("order_notice")
    migrate(ordered)
    with reading(ordered) as session:
        view = order_view(session, find_order(session, "P0001"))
    assert {line.item: line.due for line in view.lines} == {"RING": usual, "BOLT": own}
    assert view.lines[0].notices == view.lines[1].notices == ()


def test_what_a_hold_of_a_batch_is_on_stays_so_in_the_former_revision_each_lot_by_itself(
    store: Engine, tmp_path: Path
) -> None:
    load(store, shop({"X1": {"RING": 1}}))
    stock(
        store, tmp_path, "yard,RING,R1,1 each", "quay,RING,R1,1 each", "yard,RING,R2,1 each",
        "yard,RING,R3,1 each,,,,torn",
    )  # fmt: skip
    put_on_hold(store, LotName("yard", "RING", "R1"), "recalled", NOW)
    put_on_hold(store, LotName("yard", "RING", "R2"), "wet", NOW)
    release(store, LotName("yard", "RING", "R2"), NOW)
    held = {("yard", "R1"): "recalled", ("quay", "R1"): "recalled", ("yard", "R2"): None,
            ("yard", "R3"): "torn"}  # fmt: skip
    downgraded(store, "0017")
    assert not inspect(store).has_table("batch_hold")
    migrate(store)
    with reading(store) as session:
        found = {(lot.branch, lot.lot): lot.on_hold for lot in list_stock(session, None, [], ON)}
    assert found == held


def test_a_finding_of_an_unknown_item_is_forgotten_in_the_former_revision_and_the_rest_stays(
    store: Engine,
) -> None:
    load(store, shop({"X1": {"RING": 1}}))
    with writing(store) as session:
        ring = session.scalars(select(Item.id).where(Item.code == "RING")).one()
        for position, item in (("a", ring), ("b", None)):
            found = Finding(
                joint="x1", position=position, item_id=item, quantity=1000,
                first_found=FindingResult.FAILED, first_reason="cut", at=NOW,
            )  # fmt: skip
            session.add(found)
            session.flush()
            session.add(
                FindingCorrection(
                    finding_id=found.id, at=NOW, found=FindingResult.PASSED, why="mistaken"
                )
            )
        session.commit()
    downgraded(store, "0036")
    migrate(store)
    with reading(store) as session:
        rows = session.scalars(select(Finding)).all()
        assert [(one.position, one.item_id, one.found) for one in rows] == [
            ("a", ring, FindingResult.PASSED)
        ]
        assert len(session.scalars(select(FindingCorrection)).all()) == 1


def test_a_corrected_finding_says_in_the_former_revision_what_it_was_corrected_to(
    store: Engine,
) -> None:
    load(store, shop({"X1": {"RING": 1}}))
    with writing(store) as session:
        ring = session.scalars(select(Item.id).where(Item.code == "RING")).one()
        found = Finding(
            joint="x1", position="a", item_id=ring, quantity=1000,
            first_found=FindingResult.FAILED, first_reason="cut", at=NOW,
        )  # fmt: skip
        session.add(found)
        session.flush()
        for result in (FindingResult.NOT_INSPECTED, FindingResult.PASSED):
            session.add(
                FindingCorrection(finding_id=found.id, at=NOW, found=result, why="mistaken")
            )
            session.flush()
        session.commit()
    downgraded(store, "0017")
    migrate(store)
    with reading(store) as session:
        assert session.execute(select(Finding.first_found, Finding.first_reason)).all() == [
            (FindingResult.PASSED, None)
        ]


def test_ramps_and_prices_are_forgotten_in_the_former_revision_and_bookings_stay(
    lite: Engine,
) -> None:
    load(lite, shop({"X1": {"RING": 1}}))
    number = booked(lite, "X1").number
    with writing(lite) as session:
        key = session.scalars(select(Booking.id)).one()
        branch = session.scalars(select(Branch.id).where(Branch.code == "yard")).one()
        session.add(Ramp(branch_id=branch, code="R1", hours=8000))
        session.add(BookingSlot(booking_id=key, starts="08:30", ramp="R1"))
        session.add(BookingPrice(booking_id=key, at=NOW, currency="GBP", agreed=100))
        session.commit()
    downgraded(lite, "0017")
    migrate(lite)
    with reading(lite) as session:
        assert session.scalars(select(Booking.number)).all() == [number]
        for table in (Ramp, BookingSlot, BookingPrice):
            assert session.scalars(select(table)).all() == []


@pytest.mark.parametrize("column", ["hours = 24001", "hours = -1"])
def test_more_hours_than_a_day_has_are_refused(garage: Engine, column: str) -> None:
    with pytest.raises(IntegrityError), garage.begin() as connection:
        connection.exec_driver_sql(f"UPDATE ramp SET {column}")


def test_a_car_that_was_told_stays_a_car_in_the_former_revision_and_its_owner_goes(
    store: Engine,
) -> None:
    """There is no place for what was told, noted, or for owners; facts and bookings stay."""
    load(store, shop({"X1": {"RING": 1}}))
    add_car(store, CarEntry("NEW 1", model="pell", build_date=date(2020, 5, 1)), NOW)
    note_car(store, "NEW 1", "thread repaired", "Ann", NOW)
    set_owner(store, "NEW 1", "Zarathea Quillfeather", None, NOW)
    downgraded(store, "0017")
    assert not {"car_told", "car_note", "car_owner"} & set(inspect(store).get_table_names())
    migrate(store)
    with reading(store) as session:
        view = car_view(session, "NEW 1")
    assert (view.build_date, view.told, view.notes) == (date(2020, 5, 1), (), ())
    with pytest.raises(KittingError, match="nobody is written down"):
        show_owner(store, "NEW 1")


def test_a_former_revision_has_no_weight_of_a_car_and_keeps_what_else_was_told(
    store: Engine,
) -> None:
    load(store, shop({"X1": {"RING": 1}}))
    weight = parse_weight("1400 kg kerb")
    add_car(store, CarEntry("NEW 1", "pell", build_date=date(2020, 5, 1), weight=weight), NOW)
    with reading(store) as session:
        assert car_view(session, "NEW 1").weight == weight
    downgraded(store, "0025")
    migrate(store)
    with reading(store) as session:
        view = car_view(session, "NEW 1")
    assert (view.weight, view.build_date) == (None, date(2020, 5, 1))
    assert {one.fact for one in view.told} == {CarFact.MODEL, CarFact.BUILD_DATE}
    with pytest.raises(DBAPIError, match="never altered"), store.begin() as connection:
        connection.exec_driver_sql("DELETE FROM car_told")
    add_car(store, CarEntry("NEW 1", weight=weight), NOW)
    with reading(store) as session:
        assert car_view(session, "NEW 1").weight == weight


def test_a_former_revision_has_words_of_kinds_alone_and_no_photo_of_a_note(garage: Engine) -> None:
    load(garage, "kinds: [{code: own, name: own, family: clip, also: [gubbin]}]")
    load(garage, "fluids: [{code: own, name: own, also: [juice]}]")
    place = {FoundField.JOINT: "hub", FoundField.POSITION: "nut"}
    note_part(garage, "AB 123", place, NOW, picture=Picture(b"of a note", 4, 3))
    item = Shows(item="RING-FKM-14X2")
    kept = add_photo(garage, Picture(b"of an item", 4, 3), item, NOW)
    downgraded(garage, "0034")
    with garage.connect() as connection:
        words = connection.exec_driver_sql("SELECT word FROM kind_word WHERE word = 'gubbin'")
        assert len(words.all()) == 1
    migrate(garage)
    with reading(garage) as session:
        assert [one.also for one in _own(session, "kinds")] == [("gubbin",)]
        assert [one.also for one in _own(session, "fluids")] == [()]
        assert list_photos(session).photos == (kept,)
        (noted,) = found_parts(session, "AB 123").found
    assert (noted.position, noted.photo) == ("nut", None)
    note_part(garage, "AB 123", place, NOW, picture=Picture(b"of a note", 4, 3))
    load(garage, "fluids: [{code: own, name: own, also: [juice]}]")


def _own(session: Session, name: str) -> list[WordView]:
    (found,) = word_lists(session, name).lists
    return [word for word in found.words if word.own and word.word == "own"]


@pytest.mark.parametrize(
    "values",
    [{}, {"kind_id": 1, "fluid_id": 1}, {"general_tool_id": 1, "licence_id": 1}, {"kind_id": 1}],
)
def test_a_word_is_said_of_one_thing_and_once(store: Engine, values: dict[str, int]) -> None:
    said = {**values, "word": "gubbin"}
    with store.begin() as connection, pytest.raises(IntegrityError):
        connection.execute(insert(OtherWord), [said, said])


def test_a_photo_of_a_note_is_of_nothing_else(store: Engine) -> None:
    place = {FoundField.JOINT: "hub", FoundField.POSITION: "nut"}
    note_part(store, "AB 123", place, NOW, picture=Picture(b"of a note", 4, 3))
    with store.begin() as connection, pytest.raises(IntegrityError, match="of_one_thing"):
        connection.execute(update(Photo).values(item="RING"))


def test_words_about_stages_are_words_about_the_order_in_the_former_revision_and_stay_so(
    garage: Engine,
) -> None:
    """It has one place for both; what a former catalogue says there is taken for an order."""
    table = Tightening.__table__
    said = [
        ("crosswise", None, "crosswise"),
        (None, "each on all", "each on all"),
        ("crosswise", "each on all", "crosswise; each on all"),
        (None, None, None),
    ]
    with garage.begin() as connection:
        keys = sorted(connection.scalars(select(table.c.fit_id)))[: len(said)]
        for key, (pattern, stage_order, _) in zip(keys, said, strict=True):
            words = {"pattern": pattern, "stage_order": stage_order}
            connection.execute(update(table).where(table.c.fit_id == key).values(words))
    downgraded(garage, "0022")
    assert "stage_order" not in {one["name"] for one in inspect(garage).get_columns("tightening")}
    migrate(garage)
    with reading(garage) as session:
        asked = select(Tightening.pattern, Tightening.stage_order)
        found = session.execute(
            asked.where(Tightening.fit_id.in_(keys)).order_by(Tightening.fit_id)
        ).all()
    assert found == [(down, None) for _, _, down in said]


def test_a_former_revision_has_no_figure_of_what_is_turned_back(garage: Engine) -> None:
    with garage.begin() as connection:
        fit = connection.scalar(select(Stage.fit_id).where(Stage.angle.is_not(None)).limit(1))
        here = Stage.fit_id == fit
        connection.execute(update(Stage).where(here, Stage.angle.is_not(None)).values(back=True))
        connection.execute(update(Fit).where(Fit.id == fit).values(threaded_into="magnesium"))
        others = connection.scalar(select(func.count()).select_from(Stage).where(~here))
    downgraded(garage, "0023")
    migrate(garage)
    with reading(garage) as session:
        assert session.scalar(select(func.count()).select_from(Stage).where(here)) == 0
        assert session.scalar(select(func.count()).select_from(Stage)) == others
        assert session.scalar(select(Fit.threaded_into).where(Fit.id == fit)) is None


def test_only_a_turn_by_an_angle_turns_back(garage: Engine) -> None:
    with pytest.raises(IntegrityError), garage.begin() as connection:
        connection.execute(update(Stage).where(Stage.torque.is_not(None)).values(back=True))


def test_a_former_revision_does_not_know_who_wrote_what_and_what_was_written_stays(
    store: Engine,
) -> None:
    item = "items: [{code: BOLT, name: Bolt, kind: bolt}]"
    load(store, "about: {author: A. Sample, version: '1'}\n" + item)
    downgraded(store, "0034")
    assert not {"catalogue_origin", "origin_of"} & set(inspect(store).get_table_names())
    migrate(store)
    with reading(store) as session:
        assert session.scalars(select(OriginOf.code)).all() == []
        assert session.scalars(select(Item.code).where(Item.code == "BOLT")).all() == ["BOLT"]
    load(store, "about: {author: B. Other}\n" + item)
    with reading(store) as session:
        found = session.execute(
            select(OriginOf.section, OriginOf.code, CatalogueOrigin.author).join(CatalogueOrigin)
        ).all()
    assert found == [("items", "BOLT", "B. Other")]


def test_a_head_that_something_was_loaded_with_is_not_removed(store: Engine) -> None:
    load(store, "about: {author: A. Sample}\nitems: [{code: BOLT, name: Bolt, kind: bolt}]")
    with pytest.raises(IntegrityError), store.begin() as connection:
        connection.execute(delete(CatalogueOrigin))


def test_names_in_other_languages_are_forgotten_in_the_former_revision_and_items_stay(
    store: Engine,
) -> None:
    load(store, shop({"X1": {"RING": 1}}))
    with writing(store) as session:
        ring = session.scalars(select(Item.id).where(Item.code == "RING")).one()
        session.add(ItemName(item_id=ring, language="de", name="Dichtring"))
        session.execute(update(Branch).values(language="de-AT"))
        session.commit()
    downgraded(store, "0037")
    migrate(store)
    with reading(store) as session:
        assert session.scalars(select(Item.id).where(Item.code == "RING")).one() == ring
        assert session.scalars(select(ItemName)).all() == []
        assert set(session.scalars(select(Branch.language))) == {None}


def test_the_former_revision_forgets_how_close_a_scale_is_read_and_keeps_the_tool(
    garage: Engine,
) -> None:
    kept = text("SELECT low, resolution FROM tool WHERE code = 'W-40-200'")
    with garage.connect() as connection:
        assert connection.execute(kept).all() == [(40_000, 1000)]
    downgraded(garage, "0039")
    assert "resolution" not in {column["name"] for column in inspect(garage).get_columns("tool")}
    migrate(garage)
    with garage.connect() as connection:
        assert connection.execute(kept).all() == [(40_000, None)]


def test_the_former_revision_forgets_how_many_pieces_failed_and_keeps_that_they_did(
    store: Engine,
) -> None:
    load(store, shop({"X1": {"RING": 3}}))
    number = booked(store, "X1").number
    place = ("x1", "RING")
    record_findings(store, number, [as_told(place, "failed", "1 of 3, cut")], NOW)
    with writing(store) as session:
        finding = session.scalars(select(Finding.id)).one()
        session.add(
            FindingCorrection(
                finding_id=finding, at=NOW, found=FindingResult.FAILED, failed=2000, reason="flat",
                why="counted again",
            )
        )  # fmt: skip
        session.commit()
    kept = select(Finding.first_failed, Finding.first_reason, Finding.failed, Finding.reason)
    with reading(store) as session:
        assert session.execute(kept).all() == [(1000, "cut", 2000, "flat")]
    downgraded(store, "0040")
    for table in ("finding", "finding_correction"):
        assert "failed" not in {column["name"] for column in inspect(store).get_columns(table)}
    migrate(store)
    with reading(store) as session:
        assert session.execute(kept).all() == [(None, "cut", None, "flat")]
    with pytest.raises(IntegrityError), store.begin() as connection:
        connection.execute(text("UPDATE finding SET failed = 0"))


def test_the_former_revision_forgets_addresses_and_accounts_and_keeps_whose_they_were(
    garage: Engine,
) -> None:
    branch = text("SELECT name, address, invoice_address FROM branch WHERE code = 'upper'")
    supplier = text("SELECT name, address, account FROM supplier WHERE code = 'quandrel'")
    with garage.connect() as connection:
        assert None not in connection.execute(branch).one()
        assert connection.execute(supplier).one()[2] == "DEMO-0001"
    downgraded(garage, "0037")
    assert not {"address", "invoice_address"} & {
        column["name"] for column in inspect(garage).get_columns("branch")
    }
    assert not {"address", "account"} & {
        column["name"] for column in inspect(garage).get_columns("supplier")
    }
    migrate(garage)
    with garage.connect() as connection:
        assert connection.execute(branch).one() == ("Upper Yard", None, None)
        assert connection.execute(supplier).one() == ("Quandrel Seals", None, None)
