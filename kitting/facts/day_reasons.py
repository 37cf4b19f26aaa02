"""Why a booking does not fit into its day, or why that is not known."""

from __future__ import annotations

from dataclasses import dataclass

from kitting.facts.reasons import Reason, ReasonCode


class DayReason(ReasonCode):
    """What is the matter with the ramp, the people and the hours of a booking on its day."""

    CLOSED = "closed"
    CLOSED_FOR = "closed for"
    NOT_NAMED = "not named"
    RAMPS_NOT_STATED = "ramps not stated"
    PEOPLE_NOT_STATED = "technicians not stated"
    NO_SUCH_RAMP = "no such ramp"
    NO_SUCH_TECHNICIAN = "no such technician"
    RAMP_TAKES = "what the ramp takes"
    TOO_HEAVY = "too heavy for the ramp"
    WEIGHT_UNKNOWN = "weight of the car unknown"
    WEIGHT_WITHOUT_LOAD = "weight without what is in the car"
    RAMP_HOURS_UNKNOWN = "hours of the ramp unknown"
    TECHNICIAN_HOURS_UNKNOWN = "hours of the technician unknown"
    BOOKING_HOURS_UNKNOWN = "hours of bookings unknown"
    SHARES_UNKNOWN = "shares of the hours unknown"
    OVER_HOURS = "over its hours"
    AT_ONCE = "at once"
    PERHAPS_AT_ONCE = "perhaps at once"
    AWAY = "away"
    NOT_AT_WORK = "not at work"
    LICENCE_MISSING = "licence missing"
    LICENCE_EXPIRED = "licence expired"
    LICENCE_UNDATED = "licence without a date"
    LICENCE_OF_NOBODY = "licence of nobody named"


@dataclass(frozen=True, slots=True)
class DayRemark:
    """Something about the day of a booking; where it is not `certain`, it is not known."""

    certain: bool
    because: Reason
