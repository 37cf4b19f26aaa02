"""The fixed words of the trade that decide: types for them, so that no text is compared.

Each is a string of the catalogue, the tables and JSON; screens and sheets have their own wording.
"""

from __future__ import annotations

from enum import StrEnum


class Word(StrEnum):
    """A word of a fixed list; in a message it reads like any other text."""

    def __repr__(self) -> str:
        return repr(self.value)


class Rule(Word):
    """What becomes of an item when its joint is opened."""

    RENEW = "renew"
    INSPECT = "inspect"
    KEEP = "keep"


class NeedRule(Word):
    """Why a booking needs an item: a rule of a fit, or a consumable that is used up."""

    RENEW = "renew"
    INSPECT = "inspect"
    KEEP = "keep"
    USE = "use"


class Source(Word):
    """Who states a rule, a product or a rating; from HISTORY on what decides where nobody does."""

    MAKER = "maker"
    LEAFLET = "leaflet"
    WORKSHOP = "workshop"
    GENERAL = "general"
    HISTORY = "history"
    FINDING = "finding"
    JOB = "job"
    PACKET = "packet"
    NONE = "none"


STATED_SOURCES = (Source.MAKER, Source.LEAFLET, Source.WORKSHOP)


RULE_SOURCES = (Source.GENERAL, Source.WORKSHOP)


class RelaxedBy(Word):
    """The lowest source that may relax a general rule."""

    WORKSHOP = "workshop"
    LEAFLET = "leaflet"
    MAKER = "maker"
    NOBODY = "nobody"


class ItemFamily(Word):
    """The family of a kind of item."""

    RING = "ring"
    SEAL = "seal"
    FASTENER = "fastener"
    CLIP = "clip"
    CLAMP = "clamp"
    PART = "part"
    CONSUMABLE = "consumable"


class KindRubber(Word):
    """What a kind of item has to do with rubber, by which silence about it is judged."""

    MADE_OF = "made of"
    TOUCHES = "touches"


class SettledBy(Word):
    """Who settles a split: a look at the car, or the customer, anew for every booking."""

    CAR = "car"
    CUSTOMER = "customer"


class StockUnit(Word):
    """What an item is counted or measured in."""

    EACH = "each"
    MILLILITRE = "ml"
    GRAM = "g"
    MILLIMETRE = "mm"


class OldStock(Word):
    """What to do with the stock of an item that was replaced."""

    USE_UP = "use up"
    SCRAP = "scrap"


class BookingState(Word):
    """Where a booking stands."""

    PROVISIONAL = "provisional"
    CONFIRMED = "confirmed"
    ON_THE_RAMP = "on the ramp"
    CLOSED = "closed"
    CANCELLED = "cancelled"


OPEN_BOOKINGS = (BookingState.PROVISIONAL, BookingState.CONFIRMED, BookingState.ON_THE_RAMP)


class OrderState(Word):
    """Where an order stands."""

    PLACED = "placed"
    PART_RECEIVED = "part received"
    COMPLETE = "complete"
    CANCELLED = "cancelled"


class ClaimKind(Word):
    """Why a supplier owes something: goods back, an old part handed in, a part that failed."""

    RETURN = "return"
    CORE = "core"
    WARRANTY = "warranty"


class DateState(Word):
    """How a possible fitting date is judged: safe reaches the chance asked for.

    Not proven reaches it too, yet something of a kit is not fine that no purchase settles.
    """

    SAFE = "safe"
    NOT_PROVEN = "not proven"
    RISKY = "risky"
    IMPOSSIBLE = "impossible"


class RateShift(Word):
    """What of a car or a place moves the failure rate of a part."""

    OVER_8_YEARS = "age over 8 years"
    HOT_SIDE = "hot side"
    EARLIER_REMOVAL = "each earlier removal"
    UNDER_2_YEARS = "under 2 years"


class FindingResult(Word):
    """What a person saw at a position."""

    PASSED = "passed"
    FAILED = "failed"
    NOT_INSPECTED = "renewed without a look"


class RefitOutcome(Word):
    """What became of a position at an earlier removal."""

    REFITTED = "refitted"
    RENEWED = "renewed"


class MovementKind(Word):
    """Why the balance of a lot changed."""

    COUNTED = "counted"
    RECEIVED = "received"
    PICKED = "picked"
    PUT_BACK = "put back"
    SCRAPPED = "scrapped"
    SENT = "sent"
    ARRIVED = "arrived"
    OPENED = "opened"


class KitEventKind(Word):
    """What happened to a kit, or to something in it, beside picking and closing."""

    GONE = "gone"
    DRAWN = "drawn"
    RETURNED = "returned"
    LENT = "lent"
    BORROWED = "borrowed"
    SET_ASIDE = "set aside"
    TAKEN_UP = "taken up"
    MOVED = "moved"
    TOLD_USED = "told used"
    CORRECTED = "corrected"


class KitWhy(Word):
    """Why one more piece is drawn into a kit; with all but extra, the former one is gone."""

    LOST = "lost"
    DROPPED = "dropped"
    DAMAGED = "damaged"
    FAULTY = "faulty"
    EXTRA = "extra"


class LotState(Word):
    """How a lot is judged at a date."""

    GOOD = "good"
    EXPIRED = "expired"
    ON_HOLD = "on hold"
    AGE_UNKNOWN = "age unknown"


class ShelfPolicy(Word):
    """The published table by which the storage life of rubber is judged."""

    ISO_2230 = "ISO 2230"
    ARP5316 = "ARP5316"
    PACKET = "packet"


class Rating(Word):
    """How a rubber stands a medium: the handbooks' steps 1 to 4 (RATINGS), or nobody rates it."""

    SUITABLE = "suitable"
    USUALLY_SUITABLE = "usually suitable"
    DOUBTFUL = "doubtful"
    NOT_SUITABLE = "not suitable"
    UNKNOWN = "unknown"


RATINGS = (
    Rating.SUITABLE,
    Rating.USUALLY_SUITABLE,
    Rating.DOUBTFUL,
    Rating.NOT_SUITABLE,
)


class ContactAgainst(Word):
    """What a rubber is in contact with."""

    FLUID = "fluid"
    LUBRICANT = "lubricant"
    USE = "use"
    TEMPERATURE = "temperature"

    @property
    def on_rubber(self) -> bool:
        """Whether it is a product that is put on or filled in, which can be left off."""
        return self in (ContactAgainst.LUBRICANT, ContactAgainst.USE)


class ContactState(Word):
    """What a rubber's contact with a medium means for the kit, worst first."""

    CLASH = "clash"
    ASK = "ask"
    UNKNOWN = "unknown"
    SUITS = "suits"


class Certainty(Word):
    """How sure a rating is; stated, where a source speaks of the very compound."""

    HIGH = "high"
    MEDIUM = "medium"
    LOW = "low"
    STATED = "stated"
    NONE = "none"


class CureVerdict(Word):
    """Whether a car stands long enough for its products to cure, the worst first."""

    NOT_ENOUGH = "not enough"
    UNKNOWN = "unknown"
    ENOUGH = "enough"
    NOTHING_TO_SET = "nothing to set"


class ThreadState(Word):
    """The state of the thread that a figure was given for."""

    DRY = "dry"
    OILED = "oiled"
    LOCKED = "locked"
    UNKNOWN = "unknown"


class Heat(Word):
    """Whether a position is on the hot or the cold side."""

    HOT = "hot"
    COLD = "cold"


class FastenerAccess(Word):
    """From where a fastener can be reached."""

    OPEN = "open"
    SIDE = "side"
    ANGLED = "angled"


class ThreadedInto(Word):
    """The material that a fastener is threaded into."""

    STEEL = "steel"
    ALUMINIUM = "aluminium"
    MAGNESIUM = "magnesium"
    PLASTIC = "plastic"


class EntryKind(Word):
    """What an entry of a plan is."""

    ITEM = "item"
    STEP = "step"
    JOINT = "joint"
    TOOL = "tool"


class StageKind(Word):
    """How a stage of a tightening is measured."""

    TORQUE = "torque"
    ANGLE = "angle"
    BACK = "back"


class PatternShape(Word):
    """Where an order of tightening comes from: the maker, or general practice by shape."""

    MAKER = "maker"
    CIRCLE = "circle"
    CIRCLES = "circles"
    PLATE = "plate"
