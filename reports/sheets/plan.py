"""The plan sheet: unknowns and stops first, then every line with its reason, joint by joint."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import partial
from typing import BinaryIO

from kitting.facts.words import Rule
from kitting.reports.sheet import Block, Cell, Heading, Part, Sheet, render
from kitting.reports.wording import sign
from kitting.views.kit import PickLine
from kitting.views.plan import JointView, LineView, PlanView, TighteningView, UseView
from kitting.wording.figures import day
from kitting.wording.language import _, general_text, word_text
from kitting.wording.pick_list import awaited_texts, boxed_texts, short_texts
from kitting.wording.plan_sheet import (
    MEANING,
    about,
    figure_texts,
    here,
    hours_of,
    job_text,
    lubricant_texts,
    places,
    service_text,
    split_text,
    step_text,
    tools_text,
    unknown_texts,
    use_why,
    used,
    verdict_line,
    why,
)
from kitting.wording.reasons import say
from kitting.wording.verdicts import NOT_FINE, doubt_text

_RULES = tuple(Rule)
# Columns in mm from the left margin: sign and rule, amount; what it is takes the rest.
_AMOUNT, _WHAT = 27.0, 47.0
_ROW = 8.0


@dataclass(frozen=True, slots=True)
class OfBooking:
    """The booking that a plan sheet is of, and the rows of its pick list."""

    number: str
    lines: tuple[PickLine, ...] = ()


def draw_plan(
    plan: PlanView,
    target: BinaryIO,
    paper: str = "A4",
    booking: OfBooking | None = None,
    *,
    public: bool = False,
) -> int:
    """Write a plan as PDF, of a booking with what is short of it; returns the number of pages.

    Only the end of the registration is shown where it is `public`. Raises KittingError for an
    unknown paper.
    """
    car = plan.vehicle.public_name if public else plan.vehicle.whole_name
    when = _("fitting date {day}", day=day(plan.on))
    kit = _("kit {code}", code=plan.reference)
    reference = f"{booking.number} · {kit}" if booking is not None else plan.reference
    heading = Heading(_("Plan"), reference, f"{car} · {when}", plan.cautions,
                      jobs=tuple(job.code for job in plan.jobs))  # fmt: skip
    return render(target, paper, heading, partial(_body, plan, booking))


def _body(plan: PlanView, booking: OfBooking | None, sheet: Sheet) -> None:
    sheet.text(_("PLAN {reference}", reference=sheet.heading.reference), 18, bold=True, lines=1,
               gap=0.5)  # fmt: skip
    sheet.text(sheet.heading.about, 11, bold=True, gap=1.2)
    for job in plan.jobs:
        sheet.text(job_text(job), 10, bold=bool(job.stopped_by), gap=0.3)
    sheet.text(hours_of(plan), 10, gap=0.3)
    lines = booking.lines if booking is not None else ()
    short = sum(1 for line in lines if line.lacks)
    not_here = sum(1 for line in lines if not line.complete)
    sheet.text(verdict_line(plan, short, not_here), 11, bold=True, lines=3, gap=2)
    _first(plan, booking, sheet)
    _strip_down(plan, sheet)
    for joint in plan.joints:
        _joint(joint, plan, sheet)
    _uses(plan.uses, sheet)
    _around(plan, sheet)
    sheet.cautions()


def _first(plan: PlanView, booking: OfBooking | None, sheet: Sheet) -> None:
    """What stops the work, what is short, and what cannot be proven."""
    for split in plan.unresolved:
        title = _("{jobs} STOPPED: settle {variant} first", jobs=", ".join(split.stops),
                  variant=split.split)  # fmt: skip
        sheet.box(title, tuple(split_text(split)))
    for clash in plan.clashes:
        title = _("{what} and {rubber} CLASH: left off", what=clash.what, rubber=clash.elastomer)
        sheet.box(title, (say(clash.reason),))
    if booking is not None:
        sheet.box(_("SHORT"), boxed_texts(booking.lines, short_texts))
        sheet.box(_("NOT HERE YET"), boxed_texts(booking.lines, awaited_texts))
    sheet.box(_(NOT_FINE), tuple(map(doubt_text, plan.doubts)))
    sheet.box(_("FIGURES THAT NOBODY STATED"), unknown_texts(plan))


def _strip_down(plan: PlanView, sheet: Sheet) -> None:
    if not plan.steps:
        return
    sheet.ensure(16)
    sheet.text(_("STRIP DOWN, in this order"), 12, bold=True, lines=1, gap=0.8)
    for number, step in enumerate(plan.steps, 1):
        sheet.text(f"{number}. {step_text(step, plan.joints)}", 9, lines=4, gap=0.3)
    sheet.y += 3


def _joint(joint: JointView, plan: PlanView, sheet: Sheet) -> None:
    """The lines of a joint, what is renewed first; its name stands again on another page."""
    found = [line for line in plan.lines if any(one.joint == joint.code for one in line.positions)]
    if not found:
        return
    sheet.repeat = None
    found.sort(key=lambda line: _RULES.index(line.rule))
    opening = _name(joint, sheet)
    for line in found:
        row = _row(line, joint.code, plan.tightenings, sheet)
        sheet.keep([*opening, row])
        sheet.line()
        opening = []
        sheet.repeat = partial(_again, joint)
    sheet.repeat = None
    sheet.y += 3


def _name(joint: JointView, sheet: Sheet) -> list[Block]:
    name = f"{joint.name} ({joint.code})" if joint.name != joint.code else joint.code
    return [sheet.cells([Cell(0, sheet.width, (Part(name, 11.5, bold=True, lines=3),))])]


def _again(joint: JointView, sheet: Sheet) -> None:
    sheet.text(_("{joint}, continued", joint=joint.name), 10.5, bold=True, gap=1)


def _row(line: LineView, joint: str, tightenings: Sequence[TighteningView], sheet: Sheet) -> Block:
    wide = sheet.width - _WHAT
    return sheet.cells(
        [
            Cell(
                0,
                _AMOUNT - 2,
                (Part(f"{sign(line.rule)} {word_text(line.rule).upper()}", 9.5, True, 2),),
            ),
            Cell(_AMOUNT, _WHAT - _AMOUNT - 2, (Part(here(line, joint), 11, True, 2),)),
            Cell(
                _WHAT,
                wide,
                (
                    Part(line.item, 10.5, bold=True, lines=2),
                    Part(about(line), 9, lines=6),
                    Part(places(line, joint), 9, bold=True, lines=8),
                    *(
                        Part(text, 9, bold=True, lines=6)
                        for text in (
                            *lubricant_texts(line, joint),
                            *figure_texts(line, joint, tightenings),
                        )
                    ),
                    Part(f"{_(MEANING[line.rule])}; {why(line)}", 8.5, lines=16),
                ),
            ),
        ],
        _ROW,
    )


def _uses(uses: Sequence[UseView], sheet: Sheet) -> None:
    for number, use in enumerate(uses):
        words = (
            Part(use.item, 10.5, bold=True, lines=2),
            Part(about(use), 9, lines=6),
            Part(use_why(use), 8.5, lines=16),
        )
        quantity = Part(used(use), 11, bold=True, lines=2)
        row = sheet.cells([Cell(0, _WHAT - 2, (quantity,)),
                           Cell(_WHAT, sheet.width - _WHAT, words)], _ROW)  # fmt: skip
        title = Part(_("USED UP"), 12, bold=True, lines=1)
        opening = [] if number else [sheet.cells([Cell(0, sheet.width, (title,))])]
        sheet.keep([*opening, row])
        sheet.line()
    sheet.y += 3


def _around(plan: PlanView, sheet: Sheet) -> None:
    """Tools in short, licences and work from outside."""
    licences = [
        _("licence: {name} ({steps})", name=general_text(one.name), steps=", ".join(one.asked_by))
        for one in plan.licences
    ]
    for title, texts in (
        (_("BEFORE AND AFTER"), [*licences, *map(service_text, plan.services)]),
        (_("TOOLS ASKED FOR"), tools_text(plan)),
    ):
        if texts:
            sheet.ensure(16)
            sheet.text(title, 12, bold=True, lines=1, gap=0.8)
            for text in texts:
                sheet.text(text, 9, lines=30, gap=0.3)
            sheet.y += 2
