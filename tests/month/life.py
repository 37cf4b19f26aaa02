"""What happens at work: each event is a command line, and what it means for the books.

An event that cannot be now raises LookupError. A command that is refused must change nothing: the
books leave it out, and the evening tells.
"""

from __future__ import annotations

from collections import Counter
from datetime import date, datetime, timedelta
from pathlib import Path
from random import Random

from commands import Ran, Run

from month.books import Booking, Books, LotKey
from month.garage import BRANCHES, CARS, ITEMS, JOBS, joints_of, needs_of

DONE, REFUSED, NOT_FINE = 0, 1, 3


class Refused(Exception):  # noqa: N818  (an answer, no error)
    """The program said no."""


def amount(item: str, thousandths: int) -> str:
    """An amount as it is typed."""
    whole, rest = divmod(thousandths, 1000)
    return f"{whole}{f'.{rest:03}'.rstrip('0') if rest else ''} {ITEMS[item].unit}"


class Shop:
    """The clock, the dice, the command line and the books."""

    def __init__(self, run: Run, folder: Path, seed: int, start: date) -> None:
        self.call, self.folder, self.rng = run, folder, Random(seed)
        self.now = datetime.combine(start, datetime.min.time()).replace(hour=8)
        self.books = Books()
        self.commands: list[str] = []
        self.done: Counter[str] = Counter()
        self.refused: Counter[str] = Counter()

    @property
    def today(self) -> date:
        return self.now.date()

    def run(self, *words: str, timed: bool = True) -> Ran:
        """Run a command now; one that is refused raises Refused."""
        if timed:
            words = (*words, "--now", f"{self.now:%Y-%m-%d %H:%M}")
        self.commands.append(" ".join(words))
        try:
            ended = self.call(*words)
        except LookupError as crash:  # which would read as "nothing is there for it"
            raise AssertionError(words) from crash
        self.now += timedelta(minutes=1)
        assert ended.code in (DONE, REFUSED, NOT_FINE), (words, ended)
        if ended.code == REFUSED:
            raise Refused(ended.err)
        return ended

    def next_morning(self) -> None:
        """Eight o'clock of the next working day."""
        self.now = self.now.replace(hour=8, minute=0) + timedelta(days=1)
        while self.now.weekday() > 4:
            self.now += timedelta(days=1)

    # Choosing

    def one(self, among: object) -> object:
        return self.rng.choice(sorted(among))  # type: ignore[type-var,call-overload]

    def booking(self, *states: str, kit: bool = False, parked: bool | None = False) -> Booking:
        """An open booking, in one of some states; with something in its kit."""
        found = [
            b
            for b in self.books.bookings.values()
            if (b.state in states if states else b.open)
            and (parked is None or b.parked is parked)
            and (not kit or any(one.kit for one in b.promises.values()))
        ]
        if not found:
            raise LookupError
        return self.rng.choice(found)

    def of_kit(self, booking: Booking) -> tuple[str, LotKey, int]:
        """Something that lies in a kit: item, lot, amount."""
        there = [(one.item, key, one.kit) for key, one in booking.promises.items() if one.kit]
        item, key, some = self.rng.choice(there)
        assert len(key) == 3
        return item, key, some

    def some(self, item: str, most: int) -> int:
        """Some of at most so much: pieces whole, of the rest in steps of 10."""
        step = 1000 if ITEMS[item].unit == "each" else 10_000
        if most < step:
            raise LookupError
        return step * self.rng.randint(1, min(most // step, 4))

    def lot(self, least: int = 1, held: bool = False) -> LotKey:
        """A lot of which something is free."""
        found = [
            key
            for key, lot in self.books.lots.items()
            if bool(lot.held) is held and lot.on_hand > 0 and self.books.free(key) >= least
        ]
        if not found:
            raise LookupError
        return self.rng.choice(found)

    # Bookings

    def book(self) -> None:
        busy = {b.car for b in self.books.bookings.values() if b.open}
        car = self.rng.choice([car for car in CARS if car not in busy] or [""])
        if not car:
            raise LookupError
        jobs = tuple(self.rng.sample(sorted(JOBS), self.rng.choice([1, 1, 2, 3])))
        on = self.today + timedelta(days=self.rng.randrange(12))
        branch = self.rng.choice(["upper", "upper", "canal", "canal", "hill", "van1", "van2"])
        said = self.run("book", car, *jobs, "--on", f"{on}", "--branch", branch, "--json").data
        made = Booking(said["number"], len(self.books.bookings), car, branch, on, jobs)
        self.books.bookings[made.number] = made
        self.books.promise_free(made)

    def pick(self, booking: Booking | None = None) -> None:
        b = booking or self.booking()
        self.run("pick", b.number)
        day = max(b.on, self.today)
        parts = {
            key: one.waiting
            for key, one in b.promises.items()
            if len(key) == 3 and one.waiting and self.books.lots[key].fit(day)
        }
        self.books.take(b, parts, self.now, opening=True)  # type: ignore[arg-type]

    def confirm(self, booking: Booking | None = None) -> None:
        b = booking or self.booking("provisional")
        if self.run("booking", "confirm", b.number).code == NOT_FINE:
            self.run("booking", "confirm", b.number, "--incomplete", "the customer waits")
        b.state = "confirmed"

    def ramp(self, booking: Booking | None = None) -> None:
        b = booking or self.booking("confirmed")
        if self.run("booking", "ramp", b.number).code == NOT_FINE:
            self.run("booking", "ramp", b.number, "--incomplete", "the customer waits")
        b.state = "on the ramp"

    def count(self, booking: Booking | None = None) -> None:
        """Old seals, as many as there are; the books have no part in it."""
        b = booking or self.booking("on the ramp")
        joints = self.run("count", b.number, "--json").data["joints"]
        if joints:
            words = [f"{one['joint']}={one['expected']}" for one in joints]
            self.run("count", b.number, *words)
        b.counted = True

    def found(self, booking: Booking | None = None) -> None:
        b = booking or self.booking("on the ramp")
        if "cover" not in joints_of(b.jobs):
            raise LookupError
        seen = {
            position: self.rng.choice(["passed", "passed", "failed", "renewed without a look"])
            for position in self.rng.choice([("upper",), ("upper", "lower")])
        }
        words = [
            f"cover:{place}={result}{': cut' if result == 'failed' else ''}"
            for place, result in seen.items()
        ]
        self.run("findings", b.number, *words)
        b.found |= seen
        self.books.give_up_unneeded(b)
        self.books.promise_free(b)

    def cancel(self) -> None:
        b = self.booking("provisional", "confirmed")
        self.run("booking", "cancel", b.number)
        for key, one in list(b.promises.items()):
            one.back, one.kit, back = one.kit, 0, one.kit
            if back:
                self.books.post(key, "back", back)  # type: ignore[arg-type]
        for key, one in list(b.promises.items()):
            if one.back:
                self.books.come_back(b, key, one.back)  # type: ignore[arg-type]
            if one.waiting:
                self.books.let_go(b, key, one.waiting)
        b.state = "cancelled"

    def promise(self) -> None:
        b = self.booking(parked=None)
        self.run("booking", "promise", b.number)
        self.books.give_up_unneeded(b)
        self.books.give_up_unfit(b, self.today)
        self.books.promise_free(b, self.today)

    def take(self) -> None:
        taker = self.booking()
        items = [item for item in taker.needs if taker.lacks(item) > 0]
        givers = [
            (b, item)
            for b in self.books.bookings.values()
            for item in items
            if b.open and b is not taker and b.branch == taker.branch
            and any(one.waiting for _, one in b.of(item))
        ]  # fmt: skip
        if not givers:
            raise LookupError
        giver, item = self.rng.choice(givers)
        lacking = taker.lacks(item)
        moved = []
        for key, one in giver.of(item):
            theirs = len(key) == 3 and self.books.lots[key].owner == giver.number
            fit = len(key) == 2 or self.books.lots[key].fit(taker.on)
            some = min(one.waiting, lacking)
            if some > 0 and fit and not theirs:
                moved.append((key, some))
                lacking -= some
        if not moved:
            raise LookupError
        self.run("booking", "take", taker.number, item, "--from", giver.number, timed=False)
        for key, some in moved:
            self.books.let_go(giver, key, some)
            self.books.claim(taker, item, key, some)

    def brought(self) -> None:
        """The customer's own part: theirs throughout."""
        b = self.booking()
        item = self.rng.choice([i for i in b.needs if ITEMS[i].opened_days is None] or [""])
        if not item:
            raise LookupError
        much = self.some(item, b.needs[item])
        made = ("--made", "1Q26") if ITEMS[item].years else ()
        self.run(
            "booking", "brought", b.number, item, amount(item, much), "--shown", "its number", *made
        )
        number, code = 1, f"{b.number}-OWN"
        while (b.branch, item, code) in self.books.lots:
            number += 1
            code = f"{b.number}-OWN-{number}"
        lot = self.books.lot(
            (b.branch, item, code), self.today, owner=b.number,
            made=date(2026, 3, 31) if made else None,
        )  # fmt: skip
        self.books.post(lot.key, "brought", much)
        over = b.covered(item) + min(much, b.needs[item]) - b.needs[item]
        theirs = [p for p in b.of(item) if self._own(p[0], b)]
        ours = [p for p in b.of(item) if not self._own(p[0], b)]
        for key, one in [*reversed(ours), *reversed(theirs)]:
            if (some := min(one.waiting, over)) > 0:
                self.books.let_go(b, key, some)
                over -= some
        self.books.claim(b, item, lot.key, max(0, min(much, b.lacks(item))))

    def _own(self, key: tuple[str, ...], booking: Booking) -> bool:
        return len(key) == 3 and self.books.lots[key].owner == booking.number  # type: ignore[index]

    # Changing a booking

    def change(self) -> None:
        b = self.booking()
        ways = ["date", "add", "again"]
        if b.state != "on the ramp":
            ways += ["branch"] + ["drop"] * (len(b.jobs) > 1 and not b.counted and not b.found)
        way = self.rng.choice(ways)
        jobs, on, branch, words = b.jobs, b.on, b.branch, []
        if way == "date":
            on = self.today + timedelta(days=self.rng.randrange(12))
            words = ["--on", f"{on}"]
        elif way == "branch":
            branch = self.rng.choice([one for one in BRANCHES if one != b.branch])
            words = ["--branch", branch]
        elif way == "add":
            more = self.rng.choice([job for job in sorted(JOBS) if job not in b.jobs] or [""])
            if not more:
                raise LookupError
            jobs, words = (*jobs, more), ["--add", more]
        elif way == "drop":
            less = self.rng.choice(b.jobs)
            jobs = tuple(job for job in jobs if job != less)
            words = ["--drop", less]
        if self.rng.random() < 0.3:
            self.run("booking", "change", b.number, *words)  # only shown
        self.run("booking", "change", b.number, *words, "--make")
        moved, later = branch != b.branch, on != b.on
        b.jobs, b.on = jobs, on
        self._settle(b, branch, moved=moved, later=later)

    def _settle(self, b: Booking, branch: str, *, moved: bool, later: bool) -> None:
        """What a changed booking gives up, and what it is promised then."""
        books, in_kit = self.books, b.state != "on the ramp"
        if moved:
            kit = {k: one.kit for k, one in b.promises.items() if one.kit and len(k) == 3}
            books.out_of_kit(b, kit)  # type: ignore[arg-type]
            for key, one in list(b.promises.items()):
                if one.waiting:
                    books.let_go(b, key, one.waiting)
            b.branch = branch
        else:
            day = max(b.on, self.today)
            if in_kit:
                unfit = {
                    k: one.kit
                    for k, one in b.promises.items()
                    if one.kit and len(k) == 3 and not books.lots[k].fit(day)
                }
                books.out_of_kit(b, unfit)  # type: ignore[arg-type]
            books.give_up_unfit(b, self.today)
            if later:
                for key, one in list(b.promises.items()):
                    if (
                        len(key) == 2
                        and one.waiting
                        and books.orders[key[0]].lines[key[1]].due > b.on
                    ):
                        books.let_go(b, key, one.waiting)
            books.give_up_unneeded(b)
            if in_kit:
                books.out_of_kit(b, self._over(b))
        books.promise_free(b, self.today)

    def _over(self, b: Booking) -> dict[LotKey, int]:
        """What lies in a kit beyond its need, the last promised first."""
        parts: dict[LotKey, int] = {}
        needs = needs_of(b.jobs, b.instead)
        for item in {one.item for one in b.promises.values()}:
            over = b.covered(item) - needs.get(item, 0)
            for key, one in reversed(b.of(item)):
                if (some := min(one.kit, over)) > 0 and len(key) == 3:
                    parts[key] = some
                    over -= some
        order = list(b.promises)
        return {key: parts[key] for key in order if key in parts}  # type: ignore[index,misc]
