"""The kit as a thing: what lies in it now, what happened to it, and what came of a change."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime

from kitting.facts.amounts import Thousandths
from kitting.facts.reasons import Reason
from kitting.facts.words import BookingState, KitEventKind, KitWhy, LotState, NeedRule


@dataclass(frozen=True, slots=True)
class SetAsideView:
    """Where a car waits with its kit, why and since when; until when, if that is known."""

    place: str
    why: str | None
    since: datetime
    until: date | None


@dataclass(frozen=True, slots=True)
class KitEventView:
    """Something that happened to a kit beside picking and closing.

    Of a piece: `item`, `lot` and `quantity` in thousandths of `unit`; `other` is the kit that it
    was lent to or borrowed from, `why` and `note` the reason that was given. Of a kit that was set
    aside or moved: `place`, and `until` when. `told_by` is who said so; None where that was not
    told.
    """

    at: datetime
    kind: KitEventKind
    item: str | None
    unit: str | None
    quantity: Thousandths | None
    lot: str | None
    other: str | None
    why: KitWhy | None
    note: str | None
    told_by: str | None
    place: str | None
    until: date | None


@dataclass(frozen=True, slots=True)
class KitLineView:
    """So much of one lot that lies in a kit; `quantity` in thousandths of `unit`.

    `rule` is for what it is there (inspect: a spare; keep: nothing of the plan needs it), `extra`
    how much of it was drawn beyond the plan with a reason. `bin` is where it came from, `keeps_to`
    the last day on which it may be fitted (`state` as on the day of fitting), `customers` whether
    the customer brought it. `bags` and `joints` are where it goes, `trays` where these lie; none
    where it lies loose.
    """

    item: str
    name: str
    unit: str
    quantity: Thousandths
    rule: NeedRule
    extra: Thousandths
    lot: str | None
    bin: str | None
    state: LotState | None
    keeps_to: date | None
    keeps_why: Reason | None
    on_hold: str | None
    customers: bool
    bags: tuple[int, ...]
    joints: tuple[str, ...]
    trays: tuple[int, ...]

    @property
    def not_needed(self) -> bool:
        """Whether nothing of the plan needs it."""
        return self.rule is NeedRule.KEEP


@dataclass(frozen=True, slots=True)
class KitContentsView:
    """What lies in a kit now, by lot, and what happened to it.

    `judged_for` is the day for which it is judged, `to_pick` how many lines wait on the shelf. Of a
    booking that is over nothing lies in it. `kit_in` is the branch or van in which it lies, None
    where that is the branch of its booking.
    """

    booking: str
    registration: str
    vehicle: str
    jobs: tuple[str, ...]
    state: BookingState
    judged_for: date
    set_aside: SetAsideView | None
    lines: tuple[KitLineView, ...]
    to_pick: int
    events: tuple[KitEventView, ...]
    kit_in: str | None = None


@dataclass(frozen=True, slots=True)
class KitPartView:
    """So much of one lot that went into a kit, out of it, or from one to another."""

    kind: KitEventKind
    item: str
    unit: str
    quantity: Thousandths
    lot: str
    bin: str | None


@dataclass(frozen=True, slots=True)
class KitChangeView:
    """What a change of a kit came to.

    `parts` is what moved, in order. `short` is what the booking then lacks of the item and nothing
    covers, `coming` what of it is on order for it, `promised` what waits for it on the shelf; all
    in thousandths of `unit`. `taken_back` names the bookings whose confirmation was taken back.
    """

    booking: str
    item: str
    unit: str
    parts: tuple[KitPartView, ...]
    short: Thousandths
    coming: Thousandths
    promised: Thousandths
    taken_back: tuple[str, ...]
    kept: bool = True


@dataclass(frozen=True, slots=True)
class TrayView:
    """A tray of a kit that is split: the bags on it, in the order of refitting, by joint."""

    tray: int
    bags: tuple[int, ...]
    joints: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class KitShortView:
    """What a kit lacks of an item and nothing covers, in thousandths of `unit`."""

    item: str
    unit: str
    quantity: Thousandths


@dataclass(frozen=True, slots=True)
class KitNowView:
    """The kit of an open booking with the code that its labels have by now.

    `keeps_to` is the earliest expiry of what is in it or promised to it, `short` what it lacks,
    `coming` what is on order for it, `age_unknown` the items of which nobody knows how old they
    are: none of these is in its code. Where the label of a bag was read, they are of that bag
    alone. `kit_in` is the branch or van in which it lies, None where that is the branch of the
    booking.
    """

    booking: str
    code: str
    vehicle: str
    jobs: tuple[str, ...]
    on: date
    keeps_to: date | None = None
    short: tuple[KitShortView, ...] = ()
    coming: tuple[KitShortView, ...] = ()
    age_unknown: tuple[str, ...] = ()
    kit_in: str | None = None


@dataclass(frozen=True, slots=True)
class LabelReadView:
    """What the `code` of a label says. `bag` is its number, None of the label of the kit itself.

    `end` is the number of a ring end in the bag, None of other labels; `positions` are its places.

    It is `current` if the kit still is what it was when the label was printed; `joint` is then that
    of the bag, and `tray` where it lies if the kit is split. Else the contents have
    changed since, and `kits` are those of the car as they are.
    """

    code: str
    current: bool
    bag: int | None
    kits: tuple[KitNowView, ...]
    joint: str | None = None
    tray: int | None = None
    end: int | None = None
    positions: tuple[str, ...] = ()
