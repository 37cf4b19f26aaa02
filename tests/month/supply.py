"""What happens to orders and shelves: ordered, received, sent, counted, put on hold, claimed."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta
from typing import Any

from month.books import Booking, Line, LineKey, LotKey, Order, Receipt
from month.garage import BRANCHES, ITEMS, PARTS, SELLERS, Part, part_number
from month.kits import KitLife
from month.life import amount


def pounds(pence: int) -> str:
    return f"{pence / 100:.2f} GBP"


class Supply(KitLife):
    """The events of supply and stock."""

    batches = 0

    def batch(self) -> str:
        """A batch that nobody has had before."""
        self.batches += 1
        return f"N-{self.batches:03}"

    # Ordering

    def _place(self, number: str, branch: str, parts: dict[str, tuple[Part, int]]) -> Order:
        """Write an order down: our prices, its days as it says."""
        said = self.run("order", "show", number, "--json").data
        seller = SELLERS[said["supplier"]]
        days = {line["item"]: (line["due"], line["due_late"]) for line in said["lines"]}
        assert set(days) == set(parts), (days, parts)
        lines = {
            item: Line(
                packs, packs * part.pack, part.each(packs), part.core or 0,
                *(date.fromisoformat(day) for day in days[item]),
            )
            for item, (part, packs) in parts.items()
        }  # fmt: skip
        goods = sum(line.packs * line.price for line in lines.values())
        free = seller.free_from is not None and goods >= seller.free_from
        order = Order(number, seller.code, branch, 0 if free else seller.carriage, lines)
        self.books.orders[number] = order
        return order

    def _serve(self, bookings: list[Booking], bought: list[LineKey]) -> None:
        for b in sorted(bookings, key=lambda one: (one.on, one.place)):
            self.books.give_up_unfit(b, self.today)
            self.books.promise_free(b, self.today, bought)

    def order(self) -> None:
        """By hand, for the shelf or for bookings."""
        seller = self.rng.choice(sorted(SELLERS))
        chosen = self.rng.sample(PARTS[seller], self.rng.choice([1, 1, 2, 3]))
        parts = {part.item: (part, self.rng.randint(1, 6)) for part in chosen}
        branch = self.rng.choice(BRANCHES[:3])
        there = [b for b in self.books.bookings.values() if b.open and b.branch == branch]
        served = self.rng.sample(there, min(len(there), self.rng.choice([0, 0, 1, 2])))
        names = {item: self.rng.choice([item, part_number(seller, item)]) for item in parts}
        said = self.run(
            "order", "place", seller, *(f"{names[item]}={packs}" for item, (_, packs) in parts.items()),
            "--branch", branch, *(word for b in served for word in ("--for", b.number)),
            "--place", "--json",
        ).data  # fmt: skip
        order = self._place(said["order"], branch, parts)
        self._serve(served, [(order.number, item) for item in parts])

    def buy(self) -> None:
        """For all bookings of a branch: what is chosen is told, what it costs and covers is ours."""
        branch = self.rng.choice(BRANCHES[:3])
        bookings = [b for b in self.books.bookings.values() if b.open and b.branch == branch]
        if not bookings:
            raise LookupError
        said = self.run(
            "buy", "--all", "--branch", branch, "--place", "--json", "--sure", "60%"
        ).data
        if said["lacking"] and said["total"] is None:
            return  # nothing of it can be had: nothing is written
        self._serve(bookings, [])
        bought: list[LineKey] = []
        parcels = {parcel["supplier"]: parcel for parcel in said["parcels"]}
        for number in said["orders"]:
            seller = self.run("order", "show", number, "--json").data["supplier"]
            offers = {part.item: part for part in PARTS[seller]}
            parts = {
                line["item"]: (offers[line["item"]], line["packs"])
                for line in parcels.pop(seller)["lines"]
            }
            order = self._place(number, branch, parts)
            bought += [(order.number, item) for item in parts]
        assert not parcels
        if said["orders"]:
            self._serve_bought(bookings, bought, _bought_for(said))

    def _serve_bought(
        self, bookings: list[Booking], bought: list[LineKey], meant: dict[str, set[str]]
    ) -> None:
        """Who it was bought for is told, by item; how much each takes of it is ours.

        What is bought anew for coming too late to be checked the day before: who does not wait for
        the other any more is told by lists.
        """
        after = self._waits(bookings[0].branch)
        for b in bookings:
            for key, one in list(b.promises.items()):
                if one.waiting and key in after and b.number not in after[key]:
                    self.books.let_go(b, key, one.waiting)
        by_date = sorted(bookings, key=lambda one: (one.on, one.place))
        for b in by_date:
            for number, item in bought:
                line = self.books.orders[number].lines[item]
                left = line.outstanding - self.books.promised((number, item))
                if b.number in meant[item] and (some := min(b.lacks(item), left)) > 0:
                    self.books.claim(b, item, (number, item), some)
        for b in by_date:
            own = [key for key in bought if b.number in after[key]]
            self.books.give_up_unfit(b, self.today)
            self.books.promise_free(b, self.today, own)

    def _waits(self, branch: str) -> dict[LineKey, list[str]]:
        said = self.run("order", "list", "--branch", branch, "--json").data
        return {
            (one["number"], line["item"]): line["promised"] for one in said for line in one["lines"]
        }

    def counter(self) -> None:
        """Bought over the counter: order, receipt and stock in one."""
        branch, item = self.rng.choice(BRANCHES[:3]), self.rng.choice(sorted(ITEMS))
        there = [
            b
            for b in self.books.bookings.values()
            if b.open and b.branch == branch and b.lacks(item) > 0
        ]
        served = there[:1]
        goods = ITEMS[item]
        much = self.some(item, 4_000) if goods.unit == "each" else (goods.pack or 0)
        paid, lot = self.rng.randint(100, 4000), self.batch()
        made = ("--made", "1Q26") if goods.years else ()
        said = self.run(
            "order", "counter", "prompt", item, amount(item, much), "--paid", pounds(paid),
            "--bill", lot, "--lot", lot, *made, "--branch", branch, "--json",
            *(word for b in served for word in ("--for", b.number)),
        ).data  # fmt: skip
        line = Line(1, much, paid, 0, self.today, self.today)
        order = Order(said["number"], "prompt", branch, 0, {item: line}, bill=lot)
        self.books.orders[order.number] = order
        self._serve(served, [(order.number, item)])
        self._goods_in(order, item, (much, 0, 0), lot, date(2026, 3, 31) if made else None)

    # Receiving

    def _open_order(self, due: bool = False) -> Order:
        found = [
            one
            for one in self.books.orders.values()
            if one.state in ("placed", "part received")
            and (not due or all(line.due <= self.today for line in one.lines.values()))
        ]
        if not found:
            raise LookupError
        return self.rng.choice(found)

    def _coming(self, order: Order) -> str:
        return self.rng.choice([item for item, line in order.lines.items() if line.outstanding])

    def receive(self) -> None:
        """All of it as ordered, under the number of the order."""
        order = self._open_order(due=self.rng.random() < 0.8)
        self.run("receive", order.number, "--made", "1Q26")
        for item, line in list(order.lines.items()):
            if line.outstanding:
                made = date(2026, 3, 31) if ITEMS[item].years else None
                self._goods_in(
                    order, item, (line.outstanding, 0, 0), f"{order.number}-{item}", made
                )

    def receive_some(self) -> None:
        """Part of it, more than ordered, damaged or wrong; the rest lost now and then."""
        order = self._open_order()
        item = self._coming(order)
        left, step = order.lines[item].outstanding, 1000 if ITEMS[item].unit == "each" else 10_000
        good = max(0, left + step * self.rng.choice([-3, -1, 0, 0, 1, 2]))
        damaged = step * self.rng.choice([0, 0, 1])
        wrong = step * self.rng.choice([0, 0, 0, 1])
        if not good + damaged + wrong:
            raise LookupError
        final, lot = self.rng.random() < 0.2, self.batch()
        words = ["receive", order.number, "--item", item, "--lot", lot]
        for way, much in (("--good", good), ("--damaged", damaged), ("--wrong", wrong)):
            words += [way, amount(item, much)] if much else []
        made = ["--made", "1Q26"] if ITEMS[item].years else []
        self.run(*words, *made, *(["--rest-lost"] if final else []))
        self._goods_in(
            order,
            item,
            (good, damaged, wrong),
            lot,
            date(2026, 3, 31) if made else None,
            final=final,
        )

    def note(self) -> None:
        """A whole delivery note: each line in part or in full."""
        order = self._open_order()
        rows, came = ["item,good,damaged,lot,made"], []
        for item, line in order.lines.items():
            if line.outstanding:
                good, lot = self.some(item, line.outstanding), self.batch()
                made = "1Q26" if ITEMS[item].years else ""
                rows.append(f"{item},{amount(item, good)},,{lot},{made}")
                came.append((item, good, lot, made))
        path = self.folder / "note.csv"
        path.write_text("\n".join(rows) + "\n", encoding="utf-8")
        self.run("receive", order.number, "--file", str(path))
        for item, good, lot, made in came:
            self._goods_in(order, item, (good, 0, 0), lot, date(2026, 3, 31) if made else None)

    def _goods_in(
        self, order: Order, item: str, came: tuple[int, int, int], code: str, made: date | None,
        *, final: bool = False,
    ) -> None:  # fmt: skip
        """What came: who waited is promised the lot itself; what is too much is on hold apart."""
        good, damaged, wrong = came
        books, line, key = self.books, order.lines[item], (order.number, item)
        again = min(max(0, good - line.outstanding), line.lost)
        outstanding = line.outstanding + again
        usable = min(good, outstanding)
        over, rest = good - usable, outstanding - usable
        lost = rest if final else min(rest, damaged + wrong)
        lot = books.lot((order.branch, item, code), self.today, made=made) if usable else None
        if lot:
            books.post(lot.key, "received", usable)
        extra = None
        if over:
            extra = books.lot(
                (order.branch, item, f"{code}-OVER"), self.today, made=made, own=True, batch=code
            )
            books.post(extra.key, "received", over)
        left, coming = usable, rest - lost
        for b in books.waiting_for(key):
            waits = b.promises[key].waiting
            some = min(waits, left) if lot and lot.fit(b.on) else 0
            still = min(waits - some, coming)
            books.let_go(b, key, waits - still)
            if lot:
                books.claim(b, item, lot.key, some)
            left -= some
            coming -= still
        line.received += usable
        line.lost += lost - again
        line.damaged, line.wrong, line.over = (
            line.damaged + damaged,
            line.wrong + wrong,
            line.over + over,
        )
        receipt = Receipt(
            usable, over, lost - again, damaged, wrong, lot and lot.key, extra and extra.key
        )
        line.receipts.append(receipt)
        if again:
            books.serve_short(order.branch, item, self.today)

    def take_back(self) -> None:
        """A receipt that was recorded wrongly."""
        order = self._open_order() if self.rng.random() < 0.5 else self._any_order()
        items = [item for item, line in order.lines.items() if line.receipts]
        if not items or order.cancelled:
            raise LookupError
        item = self.rng.choice(items)
        line, books = order.lines[item], self.books
        self.run("order", "correct", order.number, item, "--why", "counted wrongly")
        one = line.receipts.pop()
        waited: list[Booking] = []
        for key, much in ((one.lot, one.good), (one.over_lot, one.over)):
            if key and much:
                left = much - books.free(key)
                for b in reversed(books.waiting_for(key)):
                    if (some := min(b.promises[key].waiting, left)) > 0:
                        books.let_go(b, key, some)
                        left -= some
                        waited.append(b)
                books.post(key, "taken back", -much)
        line.received -= one.good
        line.lost -= one.lost
        line.damaged, line.wrong = line.damaged - one.damaged, line.wrong - one.wrong
        line.over -= one.over
        for b in dict.fromkeys(b.number for b in waited):
            books.promise_free(books.bookings[b], self.today, [(order.number, item)])

    def _any_order(self) -> Order:
        if not self.books.orders:
            raise LookupError
        return self.rng.choice(list(self.books.orders.values()))

    def announce(self) -> None:
        """Another day; sent once more what came unusable."""
        awaited = [
            order for order in self.books.orders.values()
            if not order.cancelled and any(x.outstanding or x.lost for x in order.lines.values())
        ]  # fmt: skip
        if not awaited:
            raise LookupError
        order = self.rng.choice(awaited)
        due = self.today + timedelta(days=self.rng.randint(0, 8))
        lost = [item for item, line in order.lines.items() if line.lost]
        if lost and self.rng.random() < 0.7:
            item = self.rng.choice(lost)
            again = self.some(item, order.lines[item].lost)
            self.run(
                "order", "announce", order.number, "--due", f"{due}", "--item", item,
                "--again", amount(item, again), "--why", "sent anew",
            )  # fmt: skip
            line = order.lines[item]
            line.lost -= again
            self._due(line, due)
            self.books.serve_short(order.branch, item, self.today)
            return
        self.run("order", "announce", order.number, "--due", f"{due}", "--why", "van broke down")
        for line in order.lines.values():
            if line.outstanding:
                self._due(line, due)

    def _due(self, line: Line, due: date) -> None:
        """The late day moves with the usual one."""
        line.due, line.late = due, due + (line.late - line.due)

    def cancel_order(self) -> None:
        order = self._open_order()
        self.run("order", "cancel", order.number)
        waited: list[Booking] = []
        for item in order.lines:
            for b in self.books.waiting_for((order.number, item)):
                self.books.let_go(b, (order.number, item), b.promises[order.number, item].waiting)
                waited.append(b)
        order.cancelled = True
        for number in dict.fromkeys(
            b.number for b in sorted(waited, key=lambda b: (b.on, b.place))
        ):
            self.books.promise_free(self.books.bookings[number])

    # What a supplier owes

    def claim(self) -> None:
        order = self._any_order()
        item = self.rng.choice(sorted(order.lines))
        line = order.lines[item]
        kind = self.rng.choice(["return", "return", "core", "warranty"])
        lots = [one.lot for one in line.receipts if one.lot and self.books.free(one.lot) > 0]
        if kind == "return" and lots and self.rng.random() < 0.7:
            key = self.rng.choice(lots)
            much = self.some(item, self.books.free(key))
            words, of_lot = ("--lot", key[2], "--why", "too many"), key
        elif kind == "warranty" and lots:
            much, of_lot = self.some(item, 1_000 if ITEMS[item].unit == "each" else 10_000), None
            words = ("--lot", self.rng.choice(lots)[2], "--why", "cracked")
        else:
            much, of_lot = self.some(item, 1_000 if ITEMS[item].unit == "each" else 10_000), None
            words = ("--why", "as told")
        said = self.run(
            "order", kind, order.number, item, amount(item, much), *words, "--json"
        ).data
        # One for each line that it is of: kept goods are a line of their own.
        new = {one["number"] for one in said["claims"]} - set(order.claims)
        assert new
        named = of_lot or (kind == "warranty" and "--lot" in words)
        order.claims |= {number: [kind, item, named, None] for number in new}
        if of_lot:
            self.books.post(of_lot, "sent back", -much)

    def credit(self) -> None:
        open_claims = [
            (order, number)
            for order in self.books.orders.values()
            for number, one in order.claims.items()
            if one[3] is None
        ]
        if not open_claims:
            raise LookupError
        order, number = self.rng.choice(open_claims)
        pence = self.rng.choice([0, 50, 120, 300])
        said = self.run("order", "show", order.number, "--json").data
        (claim,) = (one for one in said["claims"] if one["number"] == number)
        kind, item = order.claims[number][:2]
        line, much = order.lines[str(item)], round(1000 * claim["quantity"])
        worth = {
            "return": line.share(much),
            "core": line.packs * line.core * much // line.ordered,
            "warranty": line.packs * line.price * much // line.ordered,
        }
        pence = min(pence, worth[str(kind)])
        words = () if pence else ("--why", "not theirs")
        self.run(
            "order",
            "credit",
            order.number,
            f"{number}",
            pounds(pence),
            "--note-no",
            f"C{number}",
            *words,
        )
        order.claims[number][3] = pence

    # Shelves

    def send(self) -> None:
        key = self.lot(1000)
        lot = self.books.lots[key]
        to = self.rng.choice([one for one in BRANCHES if one != key[0]])
        much = self.some(key[1], self.books.free(key))
        said = self.run("stock", "send", *key, amount(key[1], much), "--to", to)
        number = int(said.out.split(":")[0].removeprefix("transfer "))
        due = date.fromisoformat(said.out.rsplit("due ", 1)[1].strip())
        self.books.post(key, "sent", -much)
        there = self.books._like(lot, to, key[2], lot.opened, due)
        self.books.transfers[number] = (key, there.key, much)

    def arrive(self) -> None:
        """A van arrives; now and then some of it is missing, which is counted at once."""
        if not self.books.transfers:
            raise LookupError
        number = self.rng.choice(sorted(self.books.transfers))
        origin, key, much = self.books.transfers[number]
        self.run("stock", "arrive", f"{number}")
        del self.books.transfers[number]
        there = self.books.lots[key]
        if self.books.mixes(there, much):
            alike = replace(there, own=there.own or self.books.lots[origin].own)
            key = self.books._like(alike, key[0], key[2], there.opened, self.today, much).key
        elif self.books.lots[origin].own and not there.own:
            others = any(to == key for _, to, _ in self.books.transfers.values())
            if there.on_hand or others:
                alike = replace(there, own=True)
                key = self.books._like(alike, key[0], key[2], there.opened, self.today).key
            else:
                there.own = True
        self.books.post(key, "arrived", much)
        self.books.serve_short(key[0], key[1], self.today)
        if (
            self.rng.random() < 0.3
            and self.books.free(key) >= 1000
            and ITEMS[key[1]].unit == "each"
        ):
            self.run("stock", "count", *key, amount(key[1], self.books.lots[key].on_hand - 1000))
            self.books.post(key, "counted", -1000)

    def count_lot(self) -> None:
        key = self.lot(0)
        there, step = self.books.lots[key].on_hand, 1000 if ITEMS[key[1]].unit == "each" else 10_000
        counted = max(0, there + step * self.rng.choice([-2, -1, 1, 2]))
        self.run("stock", "count", *key, amount(key[1], counted), "--why", "counted")
        self.books.post(key, "counted", counted - there)

    def missing(self) -> None:
        """Counted less than is promised: the latest date gives up first."""
        key = self.lot(0)
        counted = self.books.lots[key].on_hand // 2 // 1000 * 1000
        self.run("stock", "count", *key, amount(key[1], counted), "--give-up", "--why", "gone")
        self._give_up(key, counted)

    def _give_up(self, key: LotKey, counted: int) -> None:
        over = self.books.promised(key) - counted
        for b in reversed(self.books.waiting_for(key)):
            if (some := min(over, b.promises[key].waiting)) > 0:
                self.books.let_go(b, key, some)
                over -= some
        self.books.post(key, "counted", counted - self.books.lots[key].on_hand)

    def scrap(self) -> None:
        key = self.lot(1000)
        much = self.some(key[1], self.books.free(key))
        self.run("stock", "scrap", *key, amount(key[1], much), "--why", "dropped")
        self.books.post(key, "scrapped", -much)

    def hold(self) -> None:
        """A batch, wherever it lies and whatever comes of it later."""
        key = self.lot(0)
        said = self.run("stock", "hold", *key, "--why", "look at it").out
        number = int(said.split("(number ")[1].split(")")[0])
        self.books.holds[number] = (key[1], key[2])

    def release(self) -> None:
        """One hold ends, for all that it holds."""
        held = [lot for lot in self.books.lots.values() if lot.held]
        if not held:
            raise LookupError
        lot = self.rng.choice(held)
        which = self.rng.choice([*lot.on, *(["own"] if lot.own else [])])
        self.run("stock", "release", *lot.key, "--hold", f"{which}")
        if which == "own":
            lot.own = False
        else:
            del self.books.holds[which]


def _bought_for(said: dict[str, Any]) -> dict[str, set[str]]:
    """For which bookings each item was bought, as the purchase says."""
    found: dict[str, set[str]] = {}
    for parcel in said["parcels"]:
        for line in parcel["lines"]:
            for why in line["why"]:
                found.setdefault(line["item"], set()).update(why.get("bookings", ()))
    return found
