"""Every evening: the program's lists against the books, as data; and its own audit."""

from __future__ import annotations

from collections import Counter
from typing import Any

from month.books import Books
from month.life import Shop

OPEN = ("provisional", "confirmed", "on the ramp")


def compare(shop: Shop, every: bool = False) -> None:
    """Everything that lies, waits and is owed; each booking that is open, or `every` one."""
    books = shop.books
    assert stock_of(
        shop.run("stock", "list", "--on", f"{shop.today}", "--json", timed=False).data
    ) == (shelves(books))
    going = shop.run("stock", "list", "--on-the-way", "--json", timed=False).data
    assert Counter(
        {(one["number"], one["item"], one["to"]): _n(one["quantity"]) for one in going}
    ) == {
        (number, there[1], there[0]): much for number, (_, there, much) in books.transfers.items()
    }
    orders = shop.run("order", "list", "--all", "--json").data
    assert {one["number"]: told(one) for one in orders} == {
        number: owed(books, number) for number in books.orders
    }
    for number, booking in books.bookings.items():
        if booking.open:
            kept = shop.run("booking", "show", number, "--json").data
            assert covered(kept) == mine(books, number), number
            assert kept["state"] in (booking.state, "provisional"), number
            booking.state = kept["state"] if booking.state == "confirmed" else booking.state
    if every:
        cars(shop)
    audit = shop.run("audit", "--json", timed=False).data
    assert audit["fine"], [check for check in audit["checks"] if check["faults"]]


def _n(value: float) -> int:
    return round(value * 1000)


def _pence(money: dict[str, str] | None) -> int:
    return 0 if money is None else round(float(money["amount"]) * 100)


def stock_of(rows: list[dict[str, Any]]) -> dict[tuple[str, str, str], tuple[object, ...]]:
    """What lies on the shelves, as the program lists it."""
    return {
        (row["branch"], row["item"], row["lot"]): (
            _n(row["on_hand"]), _n(row["promised"]), row["keeps_to"], row["on_hold"] is not None,
            row["customer_of"],
        )
        for row in rows
    }  # fmt: skip


def shelves(books: Books) -> dict[tuple[str, str, str], tuple[object, ...]]:
    """The same, by the books."""
    return {
        key: (
            lot.on_hand, books.promised(key), lot.keeps and lot.keeps.isoformat(),
            lot.held, lot.owner,
        )
        for key, lot in books.lots.items()
        if lot.on_hand
    }  # fmt: skip


def told(order: dict[str, Any]) -> tuple[object, ...]:
    """An order as the program lists it."""
    lines = {
        line["item"]: (
            _n(line["ordered"]), _n(line["received"]), _n(line["lost"]), _n(line["damaged"]),
            _n(line["wrong"]), _n(line["over"]), line["due"], line["due_late"],
            tuple(line["promised"]),
        )
        for line in order["lines"]
    }  # fmt: skip
    money = {name: _pence(order[name]) for name in ("goods", "carriage", "cores", "lost", "total")}
    return order["state"], order["branch"], lines, money


def owed(books: Books, number: str) -> tuple[object, ...]:
    """The same, by the books."""
    order = books.orders[number]
    lines = {
        item: (
            line.ordered, line.received, line.lost, line.damaged, line.wrong, line.over,
            line.due.isoformat(), line.late.isoformat(),
            tuple(sorted(b.number for b in books.waiting_for((number, item)))),
        )
        for item, line in order.lines.items()
    }  # fmt: skip
    return order.state, order.branch, lines, order.money


def covered(booking: dict[str, Any]) -> dict[str, object]:
    """What a booking needs and what covers it: by lot or order, waiting and in the kit."""
    needed: Counter[str] = Counter()
    there: Counter[tuple[str, str]] = Counter()
    kit: Counter[tuple[str, str]] = Counter()
    for need in booking["needs"]:
        needed[need["item"]] += _n(need["needed"])
        for source in need["sources"]:
            key = (need["item"], source["lot"] or source["order"])
            there[key] += _n(source["quantity"])
            kit[key] += _n(source["picked"])
    return {"needed": +needed, "covered": +there, "kit": +kit}


def mine(books: Books, number: str) -> dict[str, object]:
    """The same, by the books."""
    booking = books.bookings[number]
    there: Counter[tuple[str, str]] = Counter()
    kit: Counter[tuple[str, str]] = Counter()
    for key, one in booking.promises.items():
        name = (one.item, key[2] if len(key) == 3 else key[0])
        there[name] += one.waiting + one.kit
        kit[name] += one.kit
    return {"needed": Counter(booking.needs), "covered": +there, "kit": +kit}


def cars(shop: Shop) -> None:
    """What of each batch went into which car, or was lost: recall finds it all, down the line."""
    books = shop.books
    stems = sorted({(lot.key[1], lot.stem) for lot in books.lots.values()})
    for item, stem in stems:
        of_stem = {key for key, lot in books.lots.items() if key[1] == item and lot.stem == stem}
        said = shop.run(
            "recall", stem, "--item", item, "--on", f"{shop.today}", "--json", timed=False
        ).data
        found = {
            one["booking"]: (_n(one["waiting"]), _n(one["used"]), _n(one["lost"]))
            for one in said["bookings"]
        }
        wanted = {}
        for number, booking in books.bookings.items():
            some = [one for key, one in booking.promises.items() if key in of_stem]
            sums = tuple(
                sum(getattr(one, name) for one in some) for name in ("waiting", "used", "lost")
            )
            if any(sums) or any(one.kit for one in some):
                wanted[number] = sums
        assert {k: v for k, v in found.items() if any(v) or k in wanted} == wanted, stem
        assert {
            (one["branch"], one["item"], one["lot"]) for one in said["shelves"] if one["on_hand"]
        } == {key for key in of_stem if books.lots[key].on_hand}
        going = sum(much for there, _, much in books.transfers.values() if there in of_stem)
        assert _n(said["on_the_way"]) == going, stem
