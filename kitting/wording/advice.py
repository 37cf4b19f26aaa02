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
from kitting.wording.language import N_, _
from kitting.wording.orders import tax_text
from kitting.wording.reasons import register, say

_SHIFTS = {
    RateShift.OVER_8_YEARS: N_("age over 8 years"),
    RateShift.UNDER_2_YEARS: N_("under 2 years"),
    RateShift.HOT_SIDE: N_("hot side"),
    RateShift.EARLIER_REMOVAL: N_("each earlier removal"),
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
    found = [_(_SHIFTS[shift]) for shift in view.shifts]
    return found + ([_("one fails, all are renewed")] if view.group else [])


def rests_on(view: RiskView | LearnedView) -> str | None:
    """What a chance rests on where nobody states one for the kind; None where somebody does."""
    stated = view.prior is not None if isinstance(view, LearnedView) else view.stated
    if stated:
        return None
    return _("nobody states a chance: rests on {many}", many=many(view.rests_on, "finding"))


def at_hand(view: RiskView) -> list[str]:
    """What is here of the item as spares, and what lies here and does not count."""
    found = []
    if view.in_stock:
        way = _(", {coming} of them on the way", coming=view.coming) if view.coming else ""
        found.append(_("{in_stock} free here{way}", in_stock=view.in_stock, way=way))
        if view.shared_by > 1:
            found.append(_("for {shared_by} lines together", shared_by=view.shared_by))
    if view.unknown_age:
        found.append(
            _("{unknown_age} of unknown age here NOT COUNTED", unknown_age=view.unknown_age)
        )
    return found


def looked_at(view: RiskView) -> list[str]:
    """How often each piece is looked at, if more than once."""
    if view.openings == 1:
        return []
    most = "" if view.looks == view.pieces * view.openings else _("up to ")
    return [_("opened {most}{openings} times, each a look", most=most, openings=view.openings)]


def worth(view: RiskView) -> str | None:
    """Whether one spare is worth bringing by itself; None where the cost is not known."""
    if view.worth_above is None:
        return None
    answer = _("worth") if view.any_fails > view.worth_above else _("not worth")
    return _(
        "{any_fails} that any fails: one is {answer} bringing above {worth_above}",
        any_fails=percent(view.any_fails),
        answer=answer,
        worth_above=percent(view.worth_above),
    )


def spares(found: tuple[SpareView, ...]) -> str:
    """ "1 HOSE-HEATER, 3 SEAL-COOLER"."""
    return ", ".join(f"{spare.pieces} {spare.item}" for spare in found) or "none"


def level_why(line: LevelLineView) -> str:
    """What a level follows from."""
    jobs = _(
        "{yearly:.3g} {value} a year",
        yearly=line.yearly,
        value=_("job") if line.yearly == 1 else _("jobs"),
    )
    return _(
        "{jobs}, up to {per_job} each, {many} to come",
        jobs=jobs,
        per_job=line.per_job,
        many=many(line.lead_days, "working day"),
    )


def refused(view: RefusedLevelView) -> str:
    """Why an item is not to be kept in stock."""
    return f"{view.item}: {say(view.why)}"


def replay(view: ReplayView) -> str:
    """What the levels would have done with the past."""
    return _(
        "Played against the past: {complete} of {many} would have found all they took,"
        " {tied_up} on the shelf on an average day, {many2} scrapped for age (orders"
        " every day, {many3} to come)",
        complete=view.complete,
        many=many(view.jobs, "job"),
        tied_up=money(view.tied_up),
        many2=many(view.scrapped, "piece"),
        many3=many(view.lead_days, "working day"),
    )


def pooling(view: PoolingView) -> str:
    """What one stock for all branches would tie up instead."""
    return _(
        "{many} each for itself tie up {separate}, on one stock {together} (carriage"
        " between them not counted)",
        many=many(view.branches, "branch", "branches"),
        separate=money(view.separate),
        together=money(view.together),
    )


def taken(view: SparesTakenView) -> str:
    """What a booking took of the spares, and whether that is new."""
    what = ", ".join(f"{one.pieces} {one.item}" for one in view.spares) or _("no spares")
    new = _("TAKEN") if view.changed else _("TAKEN already")
    return _(
        "{new} into {booking} for {value:g}%: {what}",
        new=new,
        booking=view.booking,
        value=view.target * 100,
        what=what,
    )


def estimate_tax(view: EstimateView) -> str:
    """The tax of the limit: "Of the limit: tax 20 % …"."""
    if view.tax_differs:
        return _("Tax differs by supplier and is in none of these figures.")
    return (
        _("Tax not stated.")
        if view.tax is None
        else _("Of the limit: {tax}.", tax=tax_text(view.tax))
    )
