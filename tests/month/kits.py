"""What happens to kits: drawn, put back, exchanged, lent, set aside, closed, corrected."""

from __future__ import annotations

from month.books import Booking, LotKey
from month.garage import ITEMS, JOINTS, joints_of
from month.life import Shop, amount


class KitLife(Shop):
    """The events of kits."""

    def draw(self) -> None:
        """A piece is gone, and one more is fetched."""
        b = self.booking(kit=True)
        item, key, there = self.of_kit(b)
        much = self.some(item, there)
        why = self.rng.choice(["lost", "dropped", "damaged", "faulty"])
        words = (f"{item}={amount(item, much)}", "--why", why, "fell", "--lot", key[2])
        self.run("kit", "draw", b.number, *words)
        one = b.promises[key]
        one.kit -= much
        one.lost += much
        wanted = min(much, max(0, b.lacks(item)))
        takes, missing = self.books.allocate(b, item, wanted, max(b.on, self.today))
        self._into(b, item, takes)
        if missing:
            self.books.promise_free(b, self.today, only=item)

    def extra(self) -> None:
        """One more than planned, of what lies on the shelf."""
        b = self.booking()
        item = self.rng.choice(sorted(ITEMS))
        much = self.some(item, 2_000 if ITEMS[item].unit == "each" else 20_000)
        takes, missing = self.books.allocate(b, item, much, max(b.on, self.today))
        self.run(
            "kit", "draw", b.number, f"{item}={amount(item, much)}", "--why", "extra", "one more"
        )
        assert not missing, (b.number, item, much, missing)
        self._into(b, item, takes)
        b.extra[item] = b.extra.get(item, 0) + much

    def _into(self, b: Booking, item: str, takes: list[tuple[LotKey, int]]) -> None:
        for key, some in takes:
            self.books.claim(b, item, key, some)
        self.books.take(b, dict(takes), self.now, opening=True)

    def give_back(self) -> None:
        b = self.booking(kit=True)
        item, key, there = self.of_kit(b)
        much = self.some(item, there)
        self.run("kit", "return", b.number, f"{item}={amount(item, much)}", "--lot", key[2])
        self.books.out_of_kit(b, {key: much})
        self.books.promise_free(b, self.today, only=item)

    def swap(self) -> None:
        b = self.booking(kit=True)
        item, key, there = self.of_kit(b)
        much = self.some(item, there)
        self.run("kit", "swap", b.number, f"{item}={amount(item, much)}", "--lot", key[2])
        now = self.books.out_of_kit(b, {key: much})
        takes, missing = self.books.allocate(b, item, much, max(b.on, self.today), set(now))
        assert not missing, (b.number, item, key, missing)
        self._into(b, item, takes)

    def lend(self) -> None:
        giver = self.booking(kit=True)
        item, key, there = self.of_kit(giver)
        takers = [
            b
            for b in self.books.bookings.values()
            if b.open and b is not giver and b.branch == giver.branch
            and b.needs.get(item, 0) > b.in_kit(item)
        ]  # fmt: skip
        if not takers:
            raise LookupError
        taker = self.rng.choice(takers)
        much = self.some(item, min(there, taker.needs[item] - taker.in_kit(item)))
        self.run(
            "kit",
            "lend",
            giver.number,
            taker.number,
            f"{item}={amount(item, much)}",
            "--lot",
            key[2],
        )
        now = self.books.out_of_kit(giver, {key: much})
        for lot, some in now.items():
            self.books.claim(taker, item, lot, some)
        self.books.take(
            taker, {lot: some for lot, some in now.items() if some}, self.now, opening=False
        )
        self.books.give_up_unneeded(taker)
        self.books.promise_free(giver, self.today, only=item)

    def split(self) -> None:
        b = self.booking()
        self.run("kit", "split", b.number, f"{joints_of(b.jobs)[0]}=2", timed=False)

    def park(self) -> None:
        b = self.booking("on the ramp")
        self.run("booking", "park", b.number, "--where", "bay 4", "--why", "waits for a head")
        b.parked = True

    def resume(self) -> None:
        b = self.booking("on the ramp", parked=True)
        self.run("booking", "resume", b.number)
        b.parked = False

    def close(self, booking: Booking | None = None) -> None:
        """What has to be asked is told; something is spoilt now and then, and told why."""
        b = booking or self.booking("on the ramp")
        told: dict[str, dict[str, int]] = {"back": {}, "used": {}, "spoilt": {}}
        kit = {item: b.in_kit(item) for item in sorted({p.item for p in b.promises.values()})}
        for item in (one for one, much in kit.items() if much):
            if self.rng.random() < 0.08:
                told["spoilt"][item] = self.some(item, kit[item])
            elif item == "CAP":
                told["used"][item] = 1000 * self.rng.randint(0, kit[item] // 1000)
            elif b.extra.get(item) or (item == "SEAL" and len(b.found) < 2):
                told["back"][item] = 1000 * self.rng.randint(0, kit[item] // 1000)
        words = [
            word
            for way, amounts in told.items()
            for item, much in amounts.items()
            for word in (f"--{way}", f"{item}={amount(item, much)}")
        ]
        self.run("close", b.number, *words, "--used-up", "--despite", "told by Ann")
        self._account(b, told, kit)

    def _account(self, b: Booking, told: dict[str, dict[str, int]], kit: dict[str, int]) -> None:
        back = {item: self._comes_back(b, item, much, told) for item, much in kit.items()}
        gone = dict(told["spoilt"])
        for one in b.promises.values():
            one.gone = min(one.kit, gone.get(one.item, 0))
            gone[one.item] = gone.get(one.item, 0) - one.gone
            one.back = min(one.kit - one.gone, back[one.item])
            back[one.item] -= one.back
            one.used, one.kit = one.kit - one.gone - one.back, 0
        for key, one in b.promises.items():
            if one.back:
                self.books.post(key, "back", one.back)  # type: ignore[arg-type]
        for key, one in list(b.promises.items()):
            if one.back:
                self.books.come_back(b, key, one.back)  # type: ignore[arg-type]
            if one.waiting:
                self.books.let_go(b, key, one.waiting)
        b.state = "closed"

    def _comes_back(self, b: Booking, item: str, much: int, told: dict[str, dict[str, int]]) -> int:
        """What of an item goes back: as told; else what nothing needs, and spares that passed."""
        if item in told["back"]:
            return told["back"][item]
        if item in told["used"]:
            return much - told["spoilt"].get(item, 0) - told["used"][item]
        if item in told["spoilt"]:
            return 0
        needed = b.needs.get(item, 0)
        passed = self._passed(b) if item == "SEAL" else 0
        return max(0, much - needed) + min(passed, much, needed)

    def _passed(self, b: Booking) -> int:
        """Spares in the kit of positions that passed: those that failed have taken theirs first."""
        places = [place for _, place, _, _ in JOINTS["cover"]]
        if "cover" not in joints_of(b.jobs):
            return 0
        taken = 1000 * sum(
            b.found.get(place) in ("failed", "renewed without a look") for place in places
        )
        passed = 1000 * sum(b.found.get(place) == "passed" for place in places)
        spares = 1000 * len(places) - taken
        return min(max(0, b.in_kit("SEAL") - taken), spares, passed)

    def correct(self) -> None:
        """What was recorded wrongly of a closed booking, the last promised first."""
        b = self.booking("closed")
        was, now = self.rng.sample(["used", "back", "spoilt"], 2)
        column = {"used": "used", "back": "back", "spoilt": "gone"}
        rows = [
            (key, one)
            for key, one in b.promises.items()
            if getattr(one, column[was]) and ITEMS[one.item].opened_days is None
        ]
        if not rows:
            raise LookupError
        item = self.rng.choice(rows)[1].item
        much = self.some(
            item, sum(getattr(one, column[was]) for _, one in rows if one.item == item)
        )
        parts, left = [], much
        for key, one in reversed(rows):
            some = min(left, getattr(one, column[was])) if one.item == item else 0
            if some:
                parts.append((key, one, some))
                left -= some
        self.run(
            "correct", b.number, f"--{now}", f"{item}={amount(item, much)}", "--was", was,
            "--why", "told too late",
        )  # fmt: skip
        for key, one, some in parts:
            setattr(one, column[was], getattr(one, column[was]) - some)
            setattr(one, column[now], getattr(one, column[now]) + some)
            if "back" in (was, now):
                self.books.post(key, "corrected", some if now == "back" else -some)  # type: ignore[arg-type]
