"""The demo garage: its folder, its database, its catalogue."""

from __future__ import annotations

from datetime import date, datetime
from pathlib import Path

from sqlalchemy import Engine, func, select

from kitting.actions import Action, next_step
from kitting.errors import KittingError
from kitting.services.advice.learned_rates import load_findings
from kitting.services.bookings.booking import BookingRequest, book
from kitting.services.bookings.staff import load_ramps, load_technicians
from kitting.services.catalogue.load import LoadReport, load_sources
from kitting.services.catalogue.setup import seed_paths, seeds, set_up
from kitting.services.purchasing.price_lists import load_prices
from kitting.services.stock.stock_lists import load_stock
from kitting.services.tools.toolboxes import load_offers, load_tools
from kitting.store import DEFAULT_FILE, make_engine, reading
from kitting.tables.stock import Lot

CAR = "PELL 117"
JOBS = ("J1", "J2")
FITTING_DATE = date(2026, 4, 15)
FILES = (
    "demo_items.yaml",
    "demo_grebe_4t.yaml",
    "demo_hask_d4.yaml",
    "demo_nib_3.yaml",
    "demo_linnet.yaml",
    "demo_garage.yaml",
    "demo_supply.yaml",
)
TOOLS, TOOL_OFFERS, STOCK = ("demo_tools.csv",), ("demo_tool_offers.csv",), ("demo_stock.csv",)
RAMPS, TECHNICIANS = ("demo_ramps.csv",), ("demo_technicians.csv",)
SUPPLIERS = ("zellowick", "quandrel", "ombrith", "fennimuth", "tarnwick")
# Today, in the demo: a Thursday afternoon before a holiday weekend.
NOW = datetime(2026, 4, 2, 14, 20)  # noqa: DTZ001  (wall clock of the garage)
WAITING = ("PELL 042", ("J1",), date(2026, 4, 9))


def prepare_demo(folder: Path) -> tuple[Engine, LoadReport]:
    """Create (or bring up to date) the demo's folder and database.

    Raises KittingError for a folder that holds other things: nothing of it is touched.
    """
    database = folder / DEFAULT_FILE
    try:
        if folder.exists() and any(folder.iterdir()) and not database.exists():
            raise KittingError(
                "{folder} holds other things. Name a new folder",
                folder=folder,
                then=(next_step(Action.MAKE_DEMO),),
            )
        folder.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise KittingError(
            "{folder}: cannot be used ({reason}). Name another folder",
            folder=folder,
            reason=error.strerror,
            then=(next_step(Action.MAKE_DEMO),),
        ) from error
    url = f"sqlite:///{database}"
    set_up(url)
    engine = make_engine(url)
    report = load_sources(engine, seeds(FILES))
    load_demo_lists(engine)
    return engine, report


def load_demo_lists(engine: Engine) -> None:
    """Load the flat lists of the demo garage: ramps, people, tools and offers, prices, stock.

    Stock is loaded only into an empty database, with a booking that has promises on it: what was
    done with it since stays.
    """
    with seed_paths(RAMPS) as paths:
        load_ramps(engine, paths)
    with seed_paths(TECHNICIANS) as paths:
        load_technicians(engine, paths)
    with seed_paths(TOOLS) as paths:
        load_tools(engine, paths)
    with seed_paths(TOOL_OFFERS) as paths:
        load_offers(engine, paths)
    for supplier in SUPPLIERS:
        with seed_paths([f"demo_prices_{supplier}.csv"]) as (path,):
            load_prices(engine, supplier, path)
    with seed_paths(["demo_findings.csv"]) as paths:
        load_findings(engine, paths)
    with reading(engine) as session:
        fresh = session.scalar(select(func.count()).select_from(Lot)) == 0
    if fresh:
        with seed_paths(STOCK) as paths:
            load_stock(engine, paths, NOW)
        registration, jobs, fit_on = WAITING
        book(engine, BookingRequest(registration, jobs, fit_on, "upper"), NOW)
