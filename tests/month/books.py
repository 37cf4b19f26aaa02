"""Books kept beside the program: written from what the guide says, with plain dicts and sums.

Nothing of the program computes here. Amounts are thousandths, money is pence. A balance is the sum
of the entries of a lot; what is promised, picked and fitted follows from what was done.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass, field
from datetime import date, datetime, timedelta

from month.garage import ITEMS, needs_of

NEVER = date.max
LotKey = tuple[str, str, str]  # branch, item, code
LineKey = tuple[str, str]  # order, item


@dataclass
class Lot:
    """A lot: its nature, which never changes but by opening, and who holds or owns it.

    `own` is a hold of its own, `holds` are those of batches, by number: (item, code). `of` are the
    codes that it was opened from.
    """

    key: LotKey
    received: date
    made: date | None = None
    opened: date | None = None
    batch: str | None = None
    own: bool = False
    owner: str | None = None
    holds: dict[int, tuple[str, str]] = field(default_factory=dict)
    of: set[str] = field(default_factory=set)
    entries: list[tuple[str, int]] = field(default_factory=list)

    @property
    def on_hand(self) -> int:
        return sum(amount for _, amount in self.entries)

    @property
    def stem(self) -> str:
        """The code that a recall knows it by."""
        return self.batch or self.key[2]

    @property
    def on(self) -> list[int]:
        """The holds that it is on, but for its own."""
        known = {self.key[2], self.batch, *self.of}
        return [
            no for no, (item, code) in self.holds.items() if item == self.key[1] and code in known
        ]

    @property
    def held(self) -> bool:
        return self.own or bool(self.on)

    @property
    def keeps(self) -> date | None:
        """The last day on which it may be fitted; None where it does not age."""
        goods = ITEMS[self.key[1]]
        limits = []
        if goods.years and self.made:
            limits.append(self.made.replace(year=self.made.year + goods.years))
        if goods.opened_days and self.opened:
            limits.append(self.opened + timedelta(days=goods.opened_days))
        return min(limits, default=None)

    def fit(self, on: date) -> bool:
        """Whether it may be fitted on a day."""
        return not self.held and (self.keeps is None or self.keeps >= on)

    @property
    def nature(self) -> tuple[date | None, date | None]:
        """What has to be the same in two lots that are put together."""
        return self.made, self.opened


@dataclass
class Line:
    """A line of an order: pence of a pack and its core, and what became of it."""

    packs: int
    ordered: int
    price: int
    core: int
    due: date
    late: date
    received: int = 0
    lost: int = 0
    damaged: int = 0
    wrong: int = 0
    over: int = 0
    sent_back: int = 0  # of what came usable
    receipts: list[Receipt] = field(default_factory=list)

    @property
    def outstanding(self) -> int:
        return self.ordered - self.received - self.lost

    def share(self, quantity: int) -> int:
        """Pence of so much of it, with its cores; of part of a pack rounded down."""
        return self.packs * (self.price + self.core) * quantity // self.ordered


@dataclass
class Receipt:
    """What came of a line at once, and the lots it went to."""

    good: int
    over: int
    lost: int
    damaged: int
    wrong: int
    lot: LotKey | None
    over_lot: LotKey | None


@dataclass
class Order:
    """An order; `claims` are (kind, item, of a lot, credited pence or None) by their number."""

    number: str
    seller: str
    branch: str
    carriage: int
    lines: dict[str, Line]
    cancelled: bool = False
    bill: str | None = None
    claims: dict[int, list[object]] = field(default_factory=dict)

    @property
    def state(self) -> str:
        if self.cancelled:
            return "cancelled"
        if all(not line.outstanding for line in self.lines.values()):
            return "complete"
        return "part received" if any(x.received for x in self.lines.values()) else "placed"

    @property
    def money(self) -> dict[str, int]:
        """Goods, cores, what is off for not coming, and what is to be paid, pence.

        What is charged comes usable or is still to come; a credit for what came unusable goes with
        the charge of what came in its place.
        """
        goods = sum(line.packs * line.price for line in self.lines.values())
        cores = sum(line.packs * line.core for line in self.lines.values())
        missing = {
            item: line.share(line.lost + (line.outstanding if self.cancelled else 0))
            for item, line in self.lines.items()
        }
        came = any(
            line.received + line.damaged + line.wrong + line.over for line in self.lines.values()
        )
        expected = not self.cancelled and any(line.outstanding for line in self.lines.values())
        carriage = self.carriage if came or expected else 0
        off, instead = 0, defaultdict(int)
        for kind, item, of_lot, pence in self.claims.values():
            if kind == "return" and not of_lot:
                instead[str(item)] += int(pence or 0)  # type: ignore[call-overload]
            else:
                off += int(pence or 0)  # type: ignore[call-overload]
        credited = sum(
            min(pence, self.lines[item].share(self.lines[item].lost))
            for item, pence in instead.items()
        )
        charged = goods + cores - sum(missing.values()) + carriage
        return {
            "goods": goods, "carriage": self.carriage, "cores": cores,
            "lost": sum(missing.values()) - credited + self.carriage - carriage,
            "total": charged - off,
        }  # fmt: skip


@dataclass
class Promise:
    """What of a lot or an order line is for a booking: waiting, in the kit, and what became of it."""

    item: str
    waiting: int = 0
    kit: int = 0
    used: int = 0
    back: int = 0
    gone: int = 0  # spoilt at the end
    lost: int = 0  # from the kit, before


@dataclass
class Booking:
    """A booking, in the order in which it was made."""

    number: str
    place: int
    car: str
    branch: str
    on: date
    jobs: tuple[str, ...]
    state: str = "provisional"
    instead: dict[str, str] = field(default_factory=dict)
    found: dict[str, str] = field(default_factory=dict)  # position of the cover → what was found
    parked: bool = False
    counted: bool = False
    extra: dict[str, int] = field(default_factory=dict)
    promises: dict[LotKey | LineKey, Promise] = field(default_factory=dict)
    opened_on: dict[LotKey, date] = field(default_factory=dict)  # when its kit first took of a lot

    @property
    def open(self) -> bool:
        return self.state not in ("closed", "cancelled")

    @property
    def needs(self) -> dict[str, int]:
        return needs_of(self.jobs, self.instead)

    def of(self, item: str) -> list[tuple[LotKey | LineKey, Promise]]:
        """Its promises of an item, in the order in which they were made."""
        return [(key, one) for key, one in self.promises.items() if one.item == item]

    def covered(self, item: str) -> int:
        return sum(one.waiting + one.kit for _, one in self.of(item))

    def in_kit(self, item: str) -> int:
        return sum(one.kit for _, one in self.of(item))

    def lacks(self, item: str) -> int:
        return self.needs.get(item, 0) - self.covered(item)


class Books:
    """Lots, orders, transfers and bookings, and the rules of promising."""

    def __init__(self) -> None:
        self.lots: dict[LotKey, Lot] = {}
        self.orders: dict[str, Order] = {}
        self.bookings: dict[str, Booking] = {}
        self.transfers: dict[int, tuple[LotKey, LotKey, int]] = {}
        self.holds: dict[int, tuple[str, str]] = {}

    # Lots

    def lot(self, key: LotKey, received: date, **nature: object) -> Lot:
        """The lot of a key, made if need be."""
        if key not in self.lots:
            self.lots[key] = Lot(key, received, holds=self.holds, **nature)  # type: ignore[arg-type]
        return self.lots[key]

    def post(self, key: LotKey, kind: str, amount: int) -> None:
        """An entry of a lot."""
        self.lots[key].entries.append((kind, amount))
        assert self.lots[key].on_hand >= 0, (key, kind, amount)

    def promised(self, key: LotKey | LineKey) -> int:
        """What waits of a lot or an order line, for whomever."""
        return sum(b.promises[key].waiting for b in self.bookings.values() if key in b.promises)

    def free(self, key: LotKey) -> int:
        return self.lots[key].on_hand - self.promised(key)

    def mixes(self, there: Lot, coming: int) -> bool:
        """Whether a begun pack of paste would come to others, or others to it."""
        goods = ITEMS[there.key[1]]
        if not (goods.pack and goods.opened_days) or not there.on_hand or there.opened:
            return False
        return bool(there.on_hand % goods.pack or coming % goods.pack)

    def _like(
        self,
        lot: Lot,
        branch: str,
        code: str,
        opened: date | None,
        received: date,
        coming: int | None = None,
    ) -> Lot:
        """A lot of the same nature under a code, or under the first number of it that is so.

        What is on a hold of its own goes to what is on hold; in another branch what is so there by
        the code or of the batch holds what comes too. Of so much that is `coming` no begun pack
        goes to others.
        """
        item, own = lot.key[1], lot.own
        if branch != lot.key[0] or coming is not None:
            own = own or any(
                one.own
                for one in self.lots.values()
                if one.key[:2] == (branch, item) and one.key[2] in (lot.key[2], lot.stem)
            )
        number = 1
        while True:
            name = code if number == 1 else f"{code}-{number}"
            there = self.lots.get((branch, item, name))
            if there is None:
                batch = lot.batch if name == lot.key[2] else lot.stem
                return self.lot(
                    (branch, item, name), received, made=lot.made, opened=opened, batch=batch,
                    own=own, owner=lot.owner,
                )  # fmt: skip
            same = there.nature == (lot.made, opened) and there.stem == lot.stem
            apart = coming is not None and self.mixes(there, coming)
            if same and not apart and (there.held or not own):
                return there
            number += 1

    # Promises

    def let_go(self, booking: Booking, key: LotKey | LineKey, amount: int) -> None:
        """Take so much that waits off a promise; what is empty then never was."""
        one = booking.promises[key]
        one.waiting -= amount
        assert one.waiting >= 0
        if not any((one.waiting, one.kit, one.used, one.back, one.gone, one.lost)):
            del booking.promises[key]

    def claim(self, booking: Booking, item: str, key: LotKey | LineKey, amount: int) -> None:
        """Promise so much of a lot or an order line."""
        if amount:
            booking.promises.setdefault(key, Promise(item)).waiting += amount

    def shelf(
        self, booking: Booking, item: str, on: date, barred: Iterable[LotKey] = ()
    ) -> list[Lot]:
        """Lots that may be taken for a booking, first expired first, then first received."""
        there = [
            lot
            for lot in self.lots.values()
            if lot.key[:2] == (booking.branch, item) and lot.fit(on) and lot.key not in barred
            and lot.owner in (None, booking.number)
        ]  # fmt: skip
        return sorted(there, key=lambda lot: (lot.keeps or NEVER, lot.received))

    def allocate(
        self, booking: Booking, item: str, wanted: int, on: date, barred: Iterable[LotKey] = ()
    ) -> tuple[list[tuple[LotKey, int]], int]:
        """From which lots so much is taken, and what is missing."""
        takes = []
        for lot in self.shelf(booking, item, on, barred):
            some = min(wanted, self.free(lot.key))
            if some > 0:
                takes.append((lot.key, some))
                wanted -= some
        return takes, wanted

    def promise_free(
        self,
        booking: Booking,
        today: date | None = None,
        bought: Iterable[LineKey] = (),
        only: str | None = None,
    ) -> None:
        """Promise what a booking lacks: from the shelves, then what comes in time or is bought."""
        on = max(booking.on, today) if today else booking.on
        for item in booking.needs:
            lacking = booking.lacks(item)
            if lacking <= 0 or only not in (None, item):
                continue
            takes, lacking = self.allocate(booking, item, lacking, on)
            for key, some in takes:
                self.claim(booking, item, key, some)
            for order, line in self.coming(booking.branch, item):
                key = (order.number, item)
                some = min(lacking, line.outstanding - self.promised(key))
                if some > 0 and (line.late <= on or key in bought):
                    self.claim(booking, item, key, some)
                    lacking -= some

    def coming(self, branch: str, item: str) -> list[tuple[Order, Line]]:
        """Lines of which something is to come, the earliest late day first."""
        found = [
            (order, order.lines[item])
            for order in self.orders.values()
            if order.branch == branch and not order.cancelled and item in order.lines
            and order.lines[item].outstanding > 0
        ]  # fmt: skip
        return sorted(found, key=lambda pair: pair[1].late)

    def give_up_unneeded(self, booking: Booking) -> None:
        """Let go of what waits beyond the need, the last promised first."""
        for key, one in reversed(list(booking.promises.items())):
            over = booking.covered(one.item) - booking.needs.get(one.item, 0)
            if (some := min(one.waiting, over)) > 0:
                self.let_go(booking, key, some)

    def give_up_unfit(self, booking: Booking, today: date | None) -> None:
        """Let go of what waits and may not be fitted on the day."""
        on = max(booking.on, today) if today else booking.on
        for key, one in list(booking.promises.items()):
            if len(key) == 3 and one.waiting and not self.lots[key].fit(on):
                self.let_go(booking, key, one.waiting)

    def waiting_for(self, key: LotKey | LineKey) -> list[Booking]:
        """Open bookings that wait for a lot or a line, the earliest date first."""
        found = [b for b in self.bookings.values() if key in b.promises and b.promises[key].waiting]
        return sorted(found, key=lambda b: (b.on, b.place))

    def serve_short(self, branch: str, item: str, today: date) -> None:
        """Promise what is free to those of a branch that lack an item, by date."""
        for booking in sorted(self.bookings.values(), key=lambda b: (b.on, b.place)):
            if booking.open and booking.branch == branch and booking.lacks(item) > 0:
                self.promise_free(booking, today)

    # Kits

    def take(self, booking: Booking, parts: dict[LotKey, int], at: datetime, opening: bool) -> None:
        """Put what waits into a kit; a pack that was begun keeps only so long from then on."""
        for key, some in parts.items():
            one = booking.promises[key]
            if not one.kit:
                booking.opened_on[key] = at.date()
            one.waiting -= some
            one.kit += some
            self.post(key, "picked", -some)
        if opening:
            for key, some in parts.items():
                self._begin(self.lots[key], some, at.date())

    def _begin(self, lot: Lot, taken: int, day: date) -> None:
        goods = ITEMS[lot.key[1]]
        if not (goods.pack and goods.opened_days) or lot.opened:
            return
        begun = (lot.on_hand + taken) % goods.pack  # of a pack opened before: used up first
        over = (taken - begun) % goods.pack
        if taken <= begun or not over:
            return
        rest = goods.pack - over
        if 0 < lot.on_hand <= rest:
            lot.opened = day
        elif lot.on_hand > rest:
            self._hand_on(lot, rest, day, day + timedelta(days=goods.opened_days))

    def _hand_on(self, lot: Lot, rest: int, day: date, last: date) -> None:
        """The opened rest lies apart: for who works first, and for whom no sealed pack is left."""
        waiting = self.waiting_for(lot.key)
        wants = {b.number: b.promises[lot.key].waiting for b in waiting}
        gets = dict.fromkeys(wants, 0)
        for booking in waiting:
            if booking.on <= last:
                gets[booking.number] = min(wants[booking.number], rest - sum(gets.values()))
        for booking in reversed(waiting):
            still = sum(wants.values()) - sum(gets.values())
            if (over := still - (lot.on_hand - rest)) > 0:
                gets[booking.number] += min(over, wants[booking.number] - gets[booking.number])
        for booking in waiting:
            if gets[booking.number]:
                self.let_go(booking, lot.key, gets[booking.number])
        into = self._part(lot, rest, day)
        for booking in waiting:
            self.claim(booking, lot.key[1], into, gets[booking.number])

    def _part(self, lot: Lot, some: int, day: date) -> LotKey:
        """Move an opened part into a lot of its own."""
        code = f"{lot.key[2][:24]}-OPEN-{day:%y%m%d}"
        into = self._like(lot, lot.key[0], code, day, lot.received)
        into.batch = into.batch or lot.stem
        into.of.add(lot.key[2])
        self.post(lot.key, "opened", -some)
        self.post(into.key, "opened", some)
        return into.key

    def out_of_kit(self, booking: Booking, parts: dict[LotKey, int]) -> dict[LotKey, int]:
        """Back to the lots; what was opened for the kit stays opened. Where it lies now."""
        now: dict[LotKey, int] = defaultdict(int)
        for key, some in parts.items():
            one = booking.promises[key]
            one.kit -= some
            self.post(key, "back", some)
            for into, amount in self.come_back(booking, key, some).items():
                now[into] += amount
            if not any((one.waiting, one.kit, one.used, one.back, one.gone, one.lost)):
                del booking.promises[key]
        return dict(now)

    def come_back(self, booking: Booking, key: LotKey, some: int) -> dict[LotKey, int]:
        """What has come back to a lot: the opened part lies apart."""
        lot, goods = self.lots[key], ITEMS[key[1]]
        opened = some % goods.pack if goods.pack and goods.opened_days else 0
        day = booking.opened_on.get(key)
        if opened and day and (lot.opened is None or lot.opened > day):
            return {key: some - opened, self._part(lot, opened, day): opened}
        return {key: some}
