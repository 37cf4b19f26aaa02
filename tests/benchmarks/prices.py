"""Loading a supplier's price list with all its checks, against writing the same rows unchecked."""

from __future__ import annotations

import csv
from collections.abc import Callable, Iterator
from contextlib import closing
from itertools import count
from pathlib import Path
from typing import Any

from kitting.services.catalogue.setup import set_up
from kitting.services.purchasing.price_lists import load_prices
from kitting.store import make_engine

from .bulk import connect, fetch, insert
from .harness import Name, Row, apart, by_turns, figure
from .setting import Setting, lacks

GOAL = 3.0
HEADINGS = (
    "part", "item", "description", "price", "pack", "minimum", "break 1 from", "break 1 price",
    "available", "lead days", "late days", "returns",
)  # fmt: skip
_OFFER = (
    "id supplier_id part item_id description pack unit minimum multiple available typical late"
    " returnable load"
)


def write_list(path: Path, rows: int) -> None:
    """A made-up list: a tenth of its parts are items here, a third has a price break."""
    with path.open("w", encoding="utf-8", newline="") as file:
        writer = csv.writer(file)
        writer.writerow(HEADINGS)
        for n in range(rows):
            price = 100 + n * 7919 % 99_000
            dear = n % 3 == 0
            writer.writerow(
                (
                    f"PN-{n:07d}", f"PART-{n // 10 % 100}" if n % 10 == 0 else "",
                    f"part {n}, moulded", f"{price / 100:.2f}", "1 each", 1, 10 if dear else "",
                    f"{price * 0.9 / 100:.2f}" if dear else "", n % 40, n % 5, n % 5 + 2,
                    "yes" if n % 2 else "no",
                )
            )  # fmt: skip


def unchecked(path: Path, supplier: int, items: dict[str, int], first: int) -> tuple[Any, Any]:
    """The rows of both tables as a short script reads them, nothing checked."""
    offers, prices = [], []
    with path.open(encoding="utf-8", newline="") as file:
        for key, row in enumerate(csv.DictReader(file), first):
            offers.append(
                (
                    key, supplier, row["part"], items.get(row["item"]), row["description"],
                    int(row["pack"].split()[0]) * 1000, "each", int(row["minimum"]), 1,
                    int(row["available"]), int(row["lead days"]), int(row["late days"]),
                    row["returns"] == "yes", 1,
                )
            )  # fmt: skip
            prices.append((key, 1, round(float(row["price"]) * 100)))
            if row["break 1 from"]:
                broken = round(float(row["break 1 price"]) * 100)
                prices.append((key, int(row["break 1 from"]), broken))
    return offers, prices


class Shop:
    """A database with a supplier for every load: each list comes into a place still empty."""

    def __init__(self, url: str, suppliers: int) -> None:
        self.url = url
        set_up(url)
        with closing(connect(url)) as connection:
            ((kind,),) = fetch(connection, "SELECT id FROM kind WHERE code = 'bolt'")
            insert(connection, "item", "id code name kind_id unit sold_singly", (
                (n + 1, f"PART-{n}", f"Part {n}", kind, "each", True) for n in range(100)
            ))  # fmt: skip
            insert(
                connection,
                "supplier",
                "id code name currency carriage minimum_order typical late",
                ((n, f"s{n}", f"S {n}", "GBP", 0, 0, 1, 2) for n in range(1, suppliers + 1)),
            )
            connection.commit()
        self.engine = make_engine(url)
        self.next = count(1)
        self.items = {f"PART-{n}": n + 1 for n in range(100)}

    def ours(self, path: Path) -> None:
        """Load a list with all checks."""
        load_prices(self.engine, f"s{next(self.next)}", path)

    def bare(self, path: Path) -> None:
        """Write the rows of a list through the driver."""
        with closing(connect(self.url)) as connection:
            ((last,),) = fetch(connection, "SELECT coalesce(max(id), 0) FROM offer")
            offers, prices = unchecked(path, next(self.next), self.items, last + 1)
            insert(connection, "offer", _OFFER, offers)
            insert(connection, "offer_price", "offer_id from_packs price", prices)
            if not self.url.startswith("sqlite"):
                connection.execute(
                    "SELECT setval(pg_get_serial_sequence('offer', 'id'), max(id)) FROM offer"
                )
            connection.commit()

    def frames(self, path: Path) -> None:
        """Write the rows of a list with data frames."""
        import pandas as pd

        with self.engine.begin() as connection:
            last = connection.exec_driver_sql("SELECT coalesce(max(id), 0) FROM offer").scalar()
            read = pd.read_csv(path)
            read.insert(0, "id", range((last or 0) + 1, (last or 0) + 1 + len(read)))
            offers = pd.DataFrame(
                {
                    "id": read["id"], "supplier_id": next(self.next), "part": read["part"],
                    "item_id": read["item"].map(self.items).astype("Int64"),
                    "description": read["description"],
                    "pack": read["pack"].str.split().str[0].astype(int) * 1000, "unit": "each",
                    "minimum": read["minimum"], "multiple": 1, "available": read["available"],
                    "typical": read["lead days"], "late": read["late days"],
                    "returnable": read["returns"] == "yes", "load": 1,
                }
            )  # fmt: skip
            offers.to_sql("offer", connection, if_exists="append", index=False)
            prices = [
                pd.DataFrame(
                    {
                        "offer_id": read["id"],
                        "from_packs": packs,
                        "price": (read[price] * 100).round(),
                    }
                )
                for packs, price in ((1, "price"), (read["break 1 from"], "break 1 price"))
            ]
            rows = pd.concat(prices).dropna().astype("int64")
            rows.to_sql("offer_price", connection, if_exists="append", index=False)
            if connection.dialect.name != "sqlite":
                connection.exec_driver_sql(
                    "SELECT setval(pg_get_serial_sequence('offer', 'id'), max(id)) FROM offer"
                )

    def same(self, one: int, other: int) -> bool:
        """Whether two suppliers have the same offers at the same prices."""
        return self._rows(one) == self._rows(other)

    def _rows(self, supplier: int) -> list[Any]:
        with closing(connect(self.url)) as connection:
            return fetch(
                connection,
                "SELECT o.part, o.item_id, o.description, o.pack, o.unit, o.minimum, o.available,"
                " o.typical, o.late, o.returnable, p.from_packs, p.price FROM offer o JOIN"
                " offer_price p ON p.offer_id = o.id WHERE o.supplier_id = ? ORDER BY o.part,"
                " p.from_packs",
                supplier,
            )


def _load(url: str, path: str) -> None:
    load_prices(make_engine(url), "s1", Path(path))


FRAMES = "pandas read_csv and to_sql"
MEMORY = "price list, memory"


def _bare(engine: str) -> str:
    return f"csv and {'executemany' if engine == 'sqlite' else 'COPY'}, unchecked"


def _size(engine: str, rows: int) -> str:
    return f"{engine}, {rows:,} rows"


def _lengths(setting: Setting) -> tuple[int, ...]:
    return setting.sizes(500, 10_000, 100_000, large=1_000_000)


def names(setting: Setting) -> Iterator[Name]:
    """What the rows are called."""
    for engine in setting.engines:
        for rows in _lengths(setting):
            for against in (_bare(engine), FRAMES):
                yield "price list", _size(engine, rows), against
            yield MEMORY, _size(engine, rows), "imports included"


def run(setting: Setting) -> Iterator[Row]:
    """Every engine and length; what the process had at most."""
    for engine in setting.engines:
        for rows in _lengths(setting):
            path = setting.folder / f"list-{rows}.csv"
            if not path.exists():
                write_list(path, rows)
            yield from _at(setting, engine, rows, path)


def _at(setting: Setting, engine: str, rows: int, path: Path) -> Iterator[Row]:
    size = _size(engine, rows)
    runs = setting.runs if rows < 100_000 else min(setting.runs, 3)
    peers: list[tuple[str, str, float | None, Callable[[Shop, Path], None]]] = [
        ("bare", _bare(engine), GOAL, Shop.bare),
        ("pandas", FRAMES, None, Shop.frames),
    ]
    for package, against, goal, peer in peers:
        missing = lacks("pandas") if package == "pandas" else None
        if missing is not None:
            yield Row("price list", size, against, skipped=missing)
            continue
        shop = Shop(setting.empty(engine), 2 * runs + 2)

        def other(shop: Shop = shop, peer: Callable[[Shop, Path], None] = peer) -> None:
            peer(shop, path)

        pairs = by_turns(lambda shop=shop: shop.ours(path), other, runs)  # type: ignore[misc]
        if not shop.same(1, 2):
            raise AssertionError(f"{size}: {against} wrote other rows")
        shop.engine.dispose()
        yield pairs.row("price list", size, against, goal)
    url = setting.empty(engine)
    Shop(url, 1).engine.dispose()
    used = apart(_load, url, str(path))
    yield figure(MEMORY, size, "imports included", used.took, used.megabytes)
