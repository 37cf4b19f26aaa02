"""Bookings on the screen: what each needs, seals counted out, the day of a van."""

from __future__ import annotations

from collections.abc import Sequence

from rich.console import Console

from kitting.actions import Action, next_step
from kitting.cli.actions import steps_text
from kitting.cli.render import headings
from kitting.cli.render.amounts import rounded
from kitting.cli.render.tables import plain_table
from kitting.cli.render.verdicts import doubt_line, show_doubts
from kitting.cli.render.work_day import show_day, show_price
from kitting.facts.tool_words import ToolVerdict
from kitting.facts.verdicts import Doubt, Verdict
from kitting.facts.words import OPEN_BOOKINGS, BookingState, LotState
from kitting.views.bookings import BookingLine, BookingView, NeededView
from kitting.views.counted import RemovalView
from kitting.views.van_day import VanView
from kitting.wording.bookings import (
    elsewhere_text,
    old_in_part,
    override_heading,
    picked_text,
    source_text,
    source_warning,
    theirs_text,
    unaccounted_text,
    with_due,
)
from kitting.wording.figures import day
from kitting.wording.kit_life import kit_in_text, set_aside_text
from kitting.wording.language import N_, _, n_, word_text
from kitting.wording.reasons import say
from kitting.wording.tools import van_gap_text
from kitting.wording.verdicts import verdict_text
from kitting.wording.work_day import when_text

_TOOLS = {
    ToolVerdict.GAP: N_("TOOL MISSING: {tool}"),
    ToolVerdict.UNKNOWN: N_("TOOL NOT PROVEN: {tool}"),
    ToolVerdict.STOPPED: N_("TOOL WAITS FOR A VARIANT: {tool}"),
}
_STATES = {
    "short": N_("SHORT"),
    "coming": N_("NOT HERE YET"),
    "here": N_("HERE"),
    "spare": N_("SPARES NOT TAKEN, only needed if a look fails"),
}


def show_bookings(console: Console, bookings: Sequence[BookingLine], *, every: bool = True) -> None:
    """Bookings by date; `every` where none was left out."""
    table = plain_table(
        headings.BOOKING, headings.BRANCH, headings.CAR, headings.JOBS, headings.DATE,
        headings.STATE, headings.VERDICT, headings.SHORT,
    )  # fmt: skip
    for row in bookings:
        short = n_("{count} line", "{count} lines", row.short) if row.short else ""
        when = " ".join(filter(None, (day(row.fit_on), row.starts, row.ramp)))
        table.add_row(
            row.number, row.branch, row.registration, ", ".join(row.jobs), when, _stands(row),
            ready_text(row.verdict), short,
        )  # fmt: skip
    console.print(table)
    if not bookings:
        console.print(_("No booking is open.") if every else _("No booking is like that."))


def _stands(row: BookingLine) -> str:
    state = word_text(row.state)
    if row.outdated:
        state = _("{state}, planned otherwise by now", state=state)
    if row.set_aside:
        state = _("{state}, set aside in {place}", state=state, place=row.set_aside)
    return state


def ready_text(verdict: Verdict) -> str:
    """How a kit stands in a word: READY, or what keeps it from that."""
    return _("READY") if verdict is Verdict.FINE else verdict_text(verdict)


def show_booking(console: Console, view: BookingView) -> None:
    """A booking: whether it is ready and what lacks first, then what covers each line."""
    console.print(
        _(
            "{booking} {car} {model}: {jobs} on {day} at {branch}, {state}",
            booking=view.number, car=view.registration, model=view.vehicle,
            jobs=", ".join(view.jobs), day=day(view.fit_on), branch=view.branch, state=view.state,
        ),
        style="bold",
    )  # fmt: skip
    is_open = view.state in OPEN_BOOKINGS
    if is_open:
        _show_verdict(console, view)
    _where(console, view)
    show_day(console, view.day)
    show_price(console, view.price)
    for one in view.chosen:
        console.print(
            _(
                "Chosen by the customer: {variant} is {option} ({name}).",
                variant=one.variant, option=one.option, name=one.name,
            )
        )  # fmt: skip
    if view.own_policy:
        text = _("Storage life judged by {policy}, set for this booking.", policy=view.shelf_policy)
        console.print(text)
    if view.override:
        console.print(f"{override_heading(view.state)}: {view.override}")
    if not is_open:
        _show_over(console, view)
        return
    for change in change_texts(view):
        console.print(f"  {change}")
    for state, heading in _STATES.items():
        needs = [need for need in view.needs if _state(need) == state]
        if needs:
            console.print()
            console.print(_(heading), style="bold")
            _needs(console, needs)


def _show_verdict(console: Console, view: BookingView) -> None:
    if view.ready:
        console.print(_("READY: everything that has to be there is there, and fine."))
    else:
        console.print(_("NOT READY: {verdict}", verdict=verdict_text(view.verdict)))
        show_doubts(console, view.doubts)


def _show_over(console: Console, view: BookingView) -> None:
    """A booking that is over: what was not fine, and what of the customer's is still here."""
    if view.state is BookingState.CLOSED:
        show_doubts(console, view.doubts)
    else:
        console.print(_("Nothing is promised to it any more."))
    for text in theirs_texts(view):
        console.print(text)


def theirs_texts(view: BookingView) -> list[str]:
    """What a customer brought and still lies here though the booking is over, with what to do."""
    if view.state in OPEN_BOOKINGS or not view.theirs:
        return []
    step = steps_text([next_step(Action.HAND_BACK, booking=view.number)])
    return [*(theirs_text(one) for one in view.theirs), step]


def _where(console: Console, view: BookingView) -> None:
    """Where car and kit are, if not where they would be looked for."""
    if view.set_aside:
        console.print(set_aside_text(view.set_aside))
    if view.kit_in:
        console.print(kit_in_text(view.kit_in))


def _state(need: NeededView) -> str:
    if need.short:
        return "spare" if _only_if_it_fails(need) else "short"
    return "coming" if need.coming else "here"


def _only_if_it_fails(need: NeededView) -> bool:
    """Whether a booking is ready without what it lacks of this: spares that were not taken."""
    lacks_nothing = not need.lacking and not need.awaited
    return need.spare and lacks_nothing and need.verdict in (Verdict.FINE, Verdict.UNKNOWN)


def _needs(console: Console, needs: Sequence[NeededView]) -> None:
    table = plain_table(
        headings.ITEM, headings.RULE, headings.NEED, headings.FROM, headings.ELSEWHERE
    )
    for need in needs:
        stands_for = (_("stands in for {item}", item=item) for item in need.stands_for)
        table.add_row(
            "\n".join((need.item, *stands_for)),
            _rule_text(need),
            rounded(need.needed, need.unit),
            "\n".join(_sources(need)),
            "\n".join(elsewhere_text(found, need.unit) for found in need.elsewhere),
        )
    console.print(table)


def _sources(need: NeededView) -> list[str]:
    """What covers a need, line by line, and what nothing covers."""
    told = []
    for source in need.sources:
        text = f"{rounded(source.quantity, need.unit)} {source_text(source)}"
        text += picked_text(source, need.unit)
        text = with_due(text, source)
        if source.keeps_to and source.state is not LotState.AGE_UNKNOWN:
            text = _("{source}, keeps to {day}", source=text, day=day(source.keeps_to))
        told.append(text)
        if warning := source_warning(source):
            told.append(warning)
    if need.short:
        amount = rounded(need.short, need.unit)
        lacks = N_("{amount} not taken") if _only_if_it_fails(need) else N_("{amount} SHORT")
        told.append(_(lacks, amount=amount))
    if need.old_in_part:
        told.append(old_in_part(need))
    return told


def _rule_text(need: NeededView) -> str:
    if need.spare and need.taken:
        return _("spare, {amount} taken", amount=rounded(need.taken, need.unit))
    if need.spare:
        return _("spare")
    if need.needed:
        return need.rule
    if need.extra == need.picked:
        return _("more than planned")
    return _("NOT NEEDED: goes back")


def lacking_texts(doubts: Sequence[Doubt]) -> list[str]:
    """Why something is not ready, each with what to do next."""
    return [doubt_line(doubt) for doubt in doubts]


def change_texts(view: BookingView) -> list[str]:
    """What the catalogue says by now that a booking was not planned from."""
    return [say(change) for change in view.changes]


def show_removal(console: Console, view: RemovalView) -> None:
    """Old seals joint by joint: expected and counted."""
    text = _("{booking} {model}: old seals out", booking=view.booking, model=view.vehicle)
    console.print(text, style="bold")
    table = plain_table(
        headings.BAG, headings.JOINT, headings.EXPECTED, headings.COUNTED, headings.POSITIONS
    )
    for joint in view.joints:
        counted = "" if joint.counted is None else str(joint.counted)
        positions = ", ".join(joint.positions)
        bag = "–" if joint.bag is None else str(joint.bag)
        table.add_row(bag, joint.joint, str(joint.expected), counted, positions)
    console.print(table)
    for reason in view.withheld:
        console.print(_("REFIT WITHHELD: {why}", why=say(reason)), style="bold")


def show_van(console: Console, view: VanView) -> None:
    """A van's day."""
    stops = n_(
        "{branch} on {day}: {count} stop", "{branch} on {day}: {count} stops", len(view.stops),
        branch=view.branch, day=day(view.on),
    )  # fmt: skip
    console.print(stops, style="bold")
    for stop in view.stops:
        console.print(
            f"  {stop.booking} {stop.registration} {stop.vehicle}: {', '.join(stop.jobs)},"
            f" {word_text(stop.state)}{when_text(stop.slot)}"
        )
        for text in lacking_texts(stop.doubts):
            console.print(f"    {text}")
    if view.load:
        console.print()
        table = plain_table(headings.LOAD, headings.ITEM, headings.FOR)
        for line in view.load:
            table.add_row(
                rounded(line.quantity, line.unit),
                f"{line.item} {line.name}",
                ", ".join(line.stops),
            )
        console.print(table)
    for missing in view.tools:
        console.print(_(_TOOLS[missing.state], tool=van_gap_text(missing)))
    for parts in view.unaccounted:
        console.print(_("UNACCOUNTED: {what}", what=unaccounted_text(parts)))
