"""Completion chances and stock levels in words."""

from __future__ import annotations

from kitting.facts.words import RateShift
from kitting.views.completion import (
    EstimateView,
    LearnedView,
    LevelLineView,
    LevelReason,
    PoolingView,
    RefusedLevelView,
    ReplayView,
    RiskView,
    SparesTakenView,
    SpareView,
    StopReason,
)
from kitting.wording.figures import many, money, percent
from kitting.wording.orders import tax_text
from kitting.wording.reasons import register, say

_SHIFTS = {
    RateShift.OVER_8_YEARS: "age over 8 years",
    RateShift.UNDER_2_YEARS: "under 2 years",
    RateShift.HOT_SIDE: "hot side",
    RateShift.EARLIER_REMOVAL: "each earlier removal",
}
register(
    {
        StopReason.NOT_OFFERED: (
            "something that may fail is offered by nobody: have it here before anything is opened"
        ),
        StopReason.NEXT_DAY: "a part that fails on {on:%a %d %b} could be here by {comes:%a %d %b}",
        StopReason.LATER: (
            "a part that fails on {on:%a %d %b} is not here before {comes:%a %d %b}: inspect"
            " everything that may fail before the last joint is opened, and stop there if in doubt"
        ),
    }
)
register(
    {
        LevelReason.RARE_IN_SHELF_LIFE: (
            "{jobs:.3g} jobs expected within its shelf life, fewer than 1: order it for the job"
        ),
        LevelReason.RARE_IN_LEAD_TIME: (
            "{jobs:.3g} jobs expected within its lead time (use in its shelf life is unknown),"
            " fewer than 1: order it for the job"
        ),
        LevelReason.CURRENCIES: (
            "Branches buy in {currencies}: what they tie up cannot be added, nor one stock compared"
        ),
    }
)


def shifts(view: RiskView) -> list[str]:
    """What of the car and the place moved the chance, and whether all are renewed together."""
    found = [_SHIFTS[shift] for shift in view.shifts]
    return found + (["one fails, all are renewed"] if view.group else [])


def rests_on(view: RiskView | LearnedView) -> str | None:
    """What a chance rests on where nobody states one for the kind; None where somebody does."""
    stated = view.prior is not None if isinstance(view, LearnedView) else view.stated
    if stated:
        return None
    return f"nobody states a chance: rests on {many(view.rests_on, 'finding')}"


def at_hand(view: RiskView) -> list[str]:
    """What is here of the item as spares, and what lies here and does not count."""
    found = []
    if view.in_stock:
        way = f", {view.coming} of them on the way" if view.coming else ""
        found.append(f"{view.in_stock} free here{way}")
        if view.shared_by > 1:
            found.append(f"for {view.shared_by} lines together")
    if view.unknown_age:
        found.append(f"{view.unknown_age} of unknown age here NOT COUNTED")
    return found


def looked_at(view: RiskView) -> list[str]:
    """How often each piece is looked at, if more than once."""
    if view.openings == 1:
        return []
    most = "" if view.looks == view.pieces * view.openings else "up to "
    return [f"opened {most}{view.openings} times, each a look"]


def worth(view: RiskView) -> str | None:
    """Whether one spare is worth bringing by itself; None where the cost is not known."""
    if view.worth_above is None:
        return None
    answer = "worth" if view.any_fails > view.worth_above else "not worth"
    return (
        f"{percent(view.any_fails)} that any fails: one is {answer} bringing above"
        f" {percent(view.worth_above)}"
    )


def spares(found: tuple[SpareView, ...]) -> str:
    """ "1 HOSE-HEATER, 3 SEAL-COOLER"."""
    return ", ".join(f"{spare.pieces} {spare.item}" for spare in found) or "none"


def level_why(line: LevelLineView) -> str:
    """What a level follows from."""
    jobs = f"{line.yearly:.3g} {'job' if line.yearly == 1 else 'jobs'} a year"
    return f"{jobs}, up to {line.per_job} each, {many(line.lead_days, 'working day')} to come"


def refused(view: RefusedLevelView) -> str:
    """Why an item is not to be kept in stock."""
    return f"{view.item}: {say(view.why)}"


def replay(view: ReplayView) -> str:
    """What the levels would have done with the past."""
    return (
        f"Played against the past: {view.complete} of {many(view.jobs, 'job')} would have found all"
        f" they took, {money(view.tied_up)} on the shelf on an average day,"
        f" {many(view.scrapped, 'piece')} scrapped for age (orders every day,"
        f" {many(view.lead_days, 'working day')} to come)"
    )


def pooling(view: PoolingView) -> str:
    """What one stock for all branches would tie up instead."""
    return (
        f"{many(view.branches, 'branch', 'branches')} each for itself tie up"
        f" {money(view.separate)}, on one stock {money(view.together)} (carriage between them not"
        " counted)"
    )


def taken(view: SparesTakenView) -> str:
    """What a booking took of the spares, and whether that is new."""
    what = ", ".join(f"{one.pieces} {one.item}" for one in view.spares) or "no spares"
    new = "TAKEN" if view.changed else "TAKEN already"
    return f"{new} into {view.booking} for {view.target * 100:g}%: {what}"


def estimate_tax(view: EstimateView) -> str:
    """The tax of the limit: "Of the limit: tax 20 % …"."""
    if view.tax_differs:
        return "Tax differs by supplier and is in none of these figures."
    return "Tax not stated." if view.tax is None else f"Of the limit: {tax_text(view.tax)}."
