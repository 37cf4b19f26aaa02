"""What stands first of a plan on the screen: the car, the hours, the verdict, what is not fine."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Iterable, Sequence
from dataclasses import replace
from typing import cast

from rich.console import Console

from kitting.cli.render.boxes import show_box
from kitting.cli.render.verdicts import doubt_line
from kitting.facts.doubt_reasons import DoubtReason
from kitting.facts.plan_reasons import ContactPlace
from kitting.facts.reasons import Reason, Value
from kitting.facts.verdicts import Doubt, Verdict
from kitting.facts.words import SettledBy
from kitting.views.plan import JobView, PlanView
from kitting.views.plan_stops import OptionView, UnresolvedView
from kitting.wording.figures import day
from kitting.wording.language import _, n_
from kitting.wording.reasons import say
from kitting.wording.verdicts import tally_text, verdict_text
from kitting.wording.work_day import hours_text


def show_heading(console: Console, plan: PlanView) -> None:
    """The car, the jobs with their hours, and the verdict."""
    car = plan.vehicle
    built = _("build date unknown")
    if car.build_date:
        built = _("built {day}", day=day(car.build_date))
    console.print(f"{car.registration}  {car.model}, {built}", style="bold")
    console.print(
        _("Kit {kit}, judged at the fitting date {day}", kit=plan.reference, day=day(plan.on))
    )
    for job in plan.jobs:
        console.print(f"  {_job(job)}")
    console.print(_hours(plan))
    tally = tally_text(plan.tally)
    if tally:
        verdict = verdict_text(plan.verdict)
        console.print(_("Verdict: {verdict} ({tally})", verdict=verdict, tally=tally))
    else:
        console.print(_("Nothing to fit"))


def _job(job: JobView) -> str:
    hours = hours_text(job.hours)
    if not job.stopped_by:
        return _("{job}  {name}, {hours} alone", job=job.code, name=job.name, hours=hours)
    return _(
        "{job}  {name}, {hours} alone  STOPPED by {variants}",
        job=job.code, name=job.name, hours=hours, variants=", ".join(job.stopped_by),
    )  # fmt: skip


def _hours(plan: PlanView) -> str:
    total, saved = hours_text(plan.hours.total), hours_text(plan.hours.saved)
    if plan.hours.saved:
        told = _("Hours: {total} in all, {saved} saved by sharing", total=total, saved=saved)
    else:
        told = _("Hours: {total} in all", total=total)
    if any(step.stopped_by for step in plan.steps):
        return _("{hours}, without the steps that wait for a variant", hours=told)
    return told


def show_unresolved(console: Console, plan: PlanView, *, brings: bool = True) -> None:
    """Every open variant: what to look at, what each option `brings`, and how it is settled."""
    for split in plan.unresolved:
        stops = ", ".join(split.stops)
        title = _("{jobs} STOPPED: settle '{variant}' first", jobs=stops, variant=split.split)
        if split.only_looks:
            title = _(
                "{jobs}: spares not known before '{variant}' is settled",
                jobs=stops, variant=split.split,
            )  # fmt: skip
        options = [_option(option, brings=brings) for option in split.options]
        show_box(console, title, [*_question(split), *options])
        # A command stays one line, outside of the frame: it is there to be copied.
        console.print(_("Then: {command}", command=_settling(plan, split)), soft_wrap=True)


def _question(split: UnresolvedView) -> list[str]:
    return [
        _("{question} Not known: {why}.", question=split.question, why=say(split.why_open)),
        _("Check: {check}", check=split.check),
    ]


def _option(option: OptionView, *, brings: bool) -> str:
    """An option, what it looks like, and what it brings along."""
    name = f"{option.name} ({option.seen})" if option.seen else option.name
    if not brings:
        return f"  {option.code}: {name}"
    told = []
    if option.items:
        told.append(_("takes {items}", items=", ".join(option.items)))
    if option.steps:
        told.append(_("does {steps}", steps=", ".join(option.steps)))
    if option.services:
        told.append(_("asks for {services}", services=", ".join(option.services)))
    return f"  {option.code}: {name} {'; '.join(told) or _('takes nothing of its own')}"


def _settling(plan: PlanView, split: UnresolvedView) -> str:
    """The command that settles a split."""
    options = "|".join(option.code for option in split.options)
    if split.settled_by is SettledBy.CUSTOMER:
        return _(
            "{command}; here --assume with the same",
            command=f"kitting book … --choose {split.split}={options}",
        )
    return f'kitting settle "{plan.vehicle.registration}" {split.split} {options}'


def show_clashes(console: Console, plan: PlanView) -> None:
    """What is certain to spoil a rubber, and is left off."""
    for clash in plan.clashes:
        title = _("{what} and {rubber} CLASH: left off", what=clash.what, rubber=clash.elastomer)
        show_box(console, title, [say(clash.reason)])


def show_not_fine(console: Console, plan: PlanView) -> None:
    """What else is not fine, once each, the worst first; variants and clashes stand above it."""
    clashes = {_contact(clash.reason) for clash in plan.clashes}
    variants = {split.split for split in plan.unresolved}
    bad = [
        doubt
        for doubt in plan.doubts
        if doubt.verdict in (Verdict.NO, Verdict.STOPPED)
        and not (_is_variant(doubt, variants) or _contact(doubt.because) in clashes)
    ]
    _tell(console, _("NOT AS IT IS, each with what settles it"), bad)
    unknown = [doubt for doubt in plan.doubts if doubt.verdict is Verdict.UNKNOWN]
    _tell(console, _("NOT PROVEN, each with what settles it"), unknown)


def _is_variant(doubt: Doubt, variants: Collection[str]) -> bool:
    """Whether a doubt only says that one of these variants is open."""
    because = doubt.because
    return because.code is DoubtReason.VARIANT_OPEN and because["variant"] in variants


def _contact(reason: Reason) -> object:
    """What touches what where, the same with and without what would do instead."""
    if isinstance(reason.code, ContactPlace):
        return reason["what"], reason["item"], reason["position"]
    return reason


def _tell(console: Console, heading: str, doubts: Sequence[Doubt]) -> None:
    told = _contacts_once(doubts)
    if told:
        console.print()
        console.print(heading, style="bold")
    said: set[Reason] = set()
    for doubt in told:
        text = doubt_line(doubt)
        if isinstance(doubt.because.code, ContactPlace):
            # A long reason that several have is said with the first of them.
            why = _why(doubt.because)
            if _without(why, "item") in said:
                text = text.replace(say(why), _("as said above"))
            said.add(_without(why, "item"))
        console.print(f"  {text}")


def _contacts_once(doubts: Iterable[Doubt]) -> list[Doubt]:
    """The same contact of several items, at several positions, told once with all of them."""
    found: dict[object, list[Doubt]] = defaultdict(list)
    for doubt in doubts:
        reason = doubt.because
        if not isinstance(reason.code, ContactPlace):
            found[object()].append(doubt)
        elif reason["item"] != reason["what"]:
            # Of a product the rubber that it touches says it already.
            why = _why(reason)
            found[reason.code, reason["what"], _without(why, "item")].append(doubt)
    return [same[0] if len(same) == 1 else _joined(same) for same in found.values()]


def _why(reason: Reason) -> Reason:
    return cast(Reason, reason["why"])


def _without(reason: Reason, name: str) -> Reason:
    return replace(reason, values=tuple(pair for pair in reason.values if pair[0] != name))


def _joined(doubts: Sequence[Doubt]) -> Doubt:
    """One doubt for contacts that differ by item and position only."""
    places = list(dict.fromkeys(str(doubt.because["position"]) for doubt in doubts))
    items = ", ".join(dict.fromkeys(str(doubt.because["item"]) for doubt in doubts))
    first = doubts[0].because
    why = _with(_why(first), item=items)
    told = _with(first, position=shortened(places, 2), item=items, why=why)
    return replace(doubts[0], because=told)


def _with(reason: Reason, **values: Value) -> Reason:
    """A reason with other values for those of its names."""
    told = ((name, values.get(name, value)) for name, value in reason.values)
    return replace(reason, values=tuple(told))


def shortened(texts: Sequence[str], most: int) -> str:
    """The first texts in a row, and how many more there are."""
    told = "; ".join(texts[:most])
    left = len(texts) - most
    if left <= 0:
        return told
    return n_("{texts}; and {count} more", "{texts}; and {count} more", left, texts=told)
