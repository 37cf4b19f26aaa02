"""Stripping down in words: what comes off, what runs out, what is closed, kept and photographed."""

from __future__ import annotations

from collections.abc import Mapping

from kitting.facts.strip_down import ComesOut
from kitting.facts.words import PatternShape, Rule
from kitting.views.strip import (
    ComesOffView,
    FluidOutView,
    PhotoOf,
    StripJointView,
    StripStepView,
    StripView,
    UndoView,
)
from kitting.wording.cautions import general_names
from kitting.wording.figures import amount, day, millimetres
from kitting.wording.language import N_, _, general_text, n_
from kitting.wording.reasons import register
from kitting.wording.work_day import when_text

register(
    {
        PhotoOf.ENDS: N_("which ring sits on which end: {places:; } ({name})"),
        PhotoOf.LENGTHS: N_("unequal lengths, which sits where: {places:; } ({name})"),
        PhotoOf.RUNS: N_("how it sits and runs: {places:; } ({name})"),
    }
)
PRACTICE = N_(
    "Common practice, no source: photograph before you loosen. Close each open end at once. What"
    " goes back lies in a bag with a tag, in the order in which it came off. What is renewed is"
    " kept too, apart, until the new one was laid beside it."
)
_FATES: Mapping[Rule, str] = {
    Rule.RENEW: N_("RENEW: a new one goes in"),
    Rule.INSPECT: N_("INSPECT: goes back if it passes its look"),
    Rule.KEEP: N_("KEEP: goes back"),
}
_OUT: Mapping[ComesOut, str] = {
    ComesOut.RECOVERED: N_(
        "{fluid} UNDER PRESSURE: recovered before the joint is opened, never let out"
    ),
    ComesOut.UNDER_PRESSURE: N_(
        "{fluid} MAY STAND UNDER PRESSURE: relieve it by the maker's method first, then catch it"
    ),
    ComesOut.RUNS_OUT: N_("{fluid} RUNS OUT: drain it first or catch it"),
    ComesOut.NOTHING: N_("{fluid}: nothing to catch"),
}


def kit_text(view: StripView) -> str:
    """Which kit it is for: "B0002 · kit K42TV6M"."""
    if view.booking is None:
        return _("kit {kit}", kit=view.reference)
    return _("{booking} · kit {kit}", booking=view.booking, kit=view.reference)


def about_text(view: StripView) -> str:
    """The car and when it is on the ramp."""
    when = f"{day(view.on)}{when_text(view.slot)}"
    return _("{vehicle} · fitting date {when}", vehicle=view.vehicle, when=when)


def step_text(step: StripStepView, count: int) -> str:
    """ "STEP 2 of 8 · A2"."""
    return _("STEP {number} of {count} · {code}", number=step.number, count=count, code=step.code)


def step_notes(step: StripStepView) -> tuple[str, ...]:
    """Who asks for a step, by whom it may be done, and with what."""
    notes = []
    if step.asked_by:
        notes.append(_("for {jobs}", jobs=", ".join(step.asked_by)))
    if step.licences:
        notes.append(_("LICENCE ASKED FOR: {licences}", licences=general_names(step.licences)))
    if step.tools:
        notes.append(_("tools: {tools}", tools=general_names(step.tools)))
    return tuple(notes)


def waits_text(step: StripStepView) -> str:
    """That it is not known whether a step is done."""
    return _(
        "NOT KNOWN WHETHER THIS STEP IS DONE: settle {variants} first",
        variants=", ".join(step.waits_for),
    )


def off_text(off: ComesOffView) -> str:
    """What comes off at a position: "6 × BOLT-FLANGE-M6X25 · flange bolt · M6 × 25 mm"."""
    what = [off.item, off.name]
    size = off.thread or ""
    if off.thread and off.length is not None:
        size = f"{off.thread} × {millimetres(off.length)}"
    if size and _tight(size.removesuffix(" mm")) not in _tight(off.name):
        what.append(size)
    shown = amount(off.amount.thousandths, off.amount.unit)
    return _("{amount} × {item}", amount=shown, item=" · ".join(dict.fromkeys(what)))


def _tight(text: str) -> str:
    return text.replace(" ", "").replace("×", "x")


def fate_text(off: ComesOffView) -> str:
    """What becomes of what comes off."""
    return _(_FATES[off.rule])


def turning_text(off: ComesOffView) -> str | None:
    """Which way a thread is undone, where that is not as usual or not known."""
    if off.left_hand is None:
        return _("THREAD NOT STATED: which way it is undone is not known")
    return _("LEFT-HAND THREAD: undone clockwise") if off.left_hand else None


def only_text(off: ComesOffView) -> str | None:
    """With which options of open variants it is there at all."""
    if not off.only_with:
        return None
    return _("CANNOT BE PROVEN: only there with {options}", options=", ".join(off.only_with))


def undo_text(undo: UndoView) -> str:
    """In which order fasteners are loosened, and that this is nobody's data."""
    if not undo.order:
        return _(
            "Loosen in reverse of the order of tightening (general practice, not the maker's),"
            " which is given in words: {words}",
            words="; ".join(undo.in_words),
        )
    order = "-".join(map(str, undo.order))
    if undo.shape is PatternShape.MAKER:
        return _(
            "Loosen in reverse of the maker's order of tightening (general practice, not the"
            " maker's): {order}. Numbers as on the tightening sheet.",
            order=order,
        )
    return _(
        "Loosen in reverse of the order of tightening (general practice and general pattern, not"
        " the maker's): {order}. Numbers as on the tightening sheet.",
        order=order,
    )


def before_text(joint: StripJointView) -> str:
    """That a joint was opened by an earlier step."""
    return _("opened already at {step}", step=joint.before)


def opened_text(joint: StripJointView) -> str | None:
    """How often a joint is opened in all, where that is more than once."""
    if joint.opened < 2:
        return None
    return n_("opened {count} time in all", "opened {count} times in all", joint.opened)


def fluid_text(out: FluidOutView) -> str:
    """What runs out, and what it does to people: by the name of the fluid."""
    fluid = general_text(out.fluid)
    told = _(_OUT[out.comes_out], fluid=fluid)
    if not out.hazards:
        return told
    return _(
        "{told}. {fluid}: {hazards}",
        told=told, fluid=fluid, hazards=general_names(out.hazards),
    )  # fmt: skip


def how_much_text(out: FluidOutView) -> str:
    """How much to expect: what is filled in again, or what is left; else that nobody states it."""
    if out.refills:
        refills = "; ".join(
            f"{amount(one.amount.thousandths, one.amount.unit)} {one.item} {one.name}"
            for one in out.refills
        )
        return _("filled in again at this step: {refills}", refills=refills)
    if out.drained_at is not None:
        return _("drained at {step}: how much is left is NOT STATED", step=out.drained_at)
    return _("how much: NOT STATED")


def seals_text(joint: StripJointView) -> str:
    """How many old seals come out, or at the most."""
    if joint.seals_depend:
        return n_("at most {count} old seal", "at most {count} old seals", joint.seals)
    return n_("{count} old seal out", "{count} old seals out", joint.seals)


def unknown_text(joint: StripJointView) -> str | None:
    """That nobody says what a sealed joint holds back."""
    if not joint.holds_unknown:
        return None
    return _("WHAT IT HOLDS BACK IS NOT STATED: be ready to catch it")


def closers_text(step: StripStepView) -> str:
    """How many open ends have to be closed."""
    if step.closers is None:
        return _("CAP OR PLUG each open end: how many is NOT STATED. Count them")
    return n_(
        "CAP OR PLUG {count} open end: tick it when it is closed",
        "CAP OR PLUG {count} open ends: tick each when it is closed",
        step.closers,
    )
