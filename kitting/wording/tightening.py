"""Tightening in words: stages, the state of the thread, what is put on and how long it sets."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from typing import assert_never

from kitting.facts.plan_reasons import AmountReason
from kitting.facts.reasons import Reason
from kitting.facts.stages import AngleStage, BackStage, Stage, TorqueStage
from kitting.facts.tightening_reasons import (
    GeneralTorqueReason,
    LayingRemark,
    PatternRemark,
    ThreadRemark,
)
from kitting.facts.torque_reasons import NO_RULE, NOT_PROVEN, TorqueRemark
from kitting.facts.words import CureVerdict, Rule, ThreadState
from kitting.views.plan import TighteningView
from kitting.views.refit import StepUseView
from kitting.views.tightening import (
    CureTimes,
    CuringView,
    GeneralTorqueView,
    ProductView,
    PutOnView,
    TightenRowView,
)
from kitting.wording.figures import (
    NO_FIGURE,
    NO_SOURCE,
    NOT_STATED,
    minutes,
    plain,
    second_unit,
    show_quantity,
    show_torque,
)
from kitting.wording.kit import passed_text
from kitting.wording.language import N_, _, word_text
from kitting.wording.reasons import register, say

register(
    {
        GeneralTorqueReason.SYSTEM: "no general figure may stand in: {system:general}",
        GeneralTorqueReason.KIND: "no general figure may stand in: {kind:general}",
        GeneralTorqueReason.INTO_NOT_STATED: (
            "no general figure: what the thread is cut into is not stated"
        ),
        GeneralTorqueReason.INTO: "no general figure may stand in: thread in {material}",
        GeneralTorqueReason.THREAD_NOT_STATED: (
            "no general figure: thread or property class is not stated"
        ),
        GeneralTorqueReason.THREAD_NOT_IN_TABLE: (
            "no general figure: the general table has coarse threads M4 to M16, not {thread}"
        ),
        GeneralTorqueReason.NOT_OF_BOLTS: (
            "no general figure: the general table has the classes of ISO 898-1, not"
            " {property_class}"
        ),
        GeneralTorqueReason.NEITHER_DRY_NOR_OILED: (
            "no general figure: the general table holds for dry or oiled threads, and this is"
            " neither"
        ),
    }
)
_STATE = N_("thread: in its tightening:")
_STATE_OR_PUT_ON = N_("lubricant: of the position, or thread: in its tightening:")
register(
    {
        ThreadRemark.DRY_BUT_PUT_ON: "figure for a DRY thread, and {what} is put on it",
        ThreadRemark.DRY_BUT_COATED: (
            "figure for a DRY thread, and a new one brings its own locker"
        ),
        ThreadRemark.DRY_BUT_USED: (
            "figure for a DRY thread, and {what: and } used at the joint may come to it"
        ),
        ThreadRemark.OILED_BUT_DRY: "figure for an OILED thread, and it is to go together dry",
        ThreadRemark.OILED_BUT_LOCKED: "figure for an OILED thread, and {what} locks it",
        ThreadRemark.NOTHING_OILS: (
            "figure for an OILED thread, and nothing is stated to oil it with"
        ),
        ThreadRemark.LOCKED_BUT_OILED: "figure for a LOCKED thread, and {what} is put on it",
    },
    entries={
        ThreadRemark.DRY_BUT_PUT_ON: _STATE_OR_PUT_ON,
        ThreadRemark.DRY_BUT_COATED: _STATE,
        ThreadRemark.DRY_BUT_USED: (
            "lubricant: of the position: dry or what is put on, or thread: in its tightening:"
        ),
        ThreadRemark.OILED_BUT_DRY: _STATE_OR_PUT_ON,
        ThreadRemark.OILED_BUT_LOCKED: _STATE_OR_PUT_ON,
        ThreadRemark.NOTHING_OILS: _STATE_OR_PUT_ON,
        ThreadRemark.LOCKED_BUT_OILED: _STATE_OR_PUT_ON,
    },
)
register(
    {
        PatternRemark.NOT_DRAWN: (
            "holes are stated for {drawn} of {all} fasteners only, so that no general order can be"
            " given. Not in the drawing: {positions:, }"
        ),
        PatternRemark.NOT_ALL_DRAWN: (
            "this is the order of {drawn} of {all} fasteners. Not in the drawing: {positions:, };"
            " the maker's data say when they are tightened"
        ),
        PatternRemark.NOT_TIGHTENED: "nothing is tightened in holes {holes:, }: {item}",
        PatternRemark.IN_WORDS: "the order is given in words: {words:; }",
        PatternRemark.ORDER_OF_OTHER_HOLES: (
            "the order that is stated ({order}) does not name each hole that is tightened once"
            " ({holes:, }): look it up"
        ),
        PatternRemark.ORDER_WITHOUT_SOURCE: NO_SOURCE,
    }
)
register(
    {
        LayingRemark.IN_TIME: (
            "{length} of bead take {takes:minutes} at {speed}, of {minutes:minutes} open time"
        ),
        LayingRemark.TOO_LONG: (
            "TOO LONG FOR ITS OPEN TIME: {length} of bead take {takes:minutes} at {speed}, and have"
            " to be closed within {minutes:minutes}"
        ),
        LayingRemark.SPEED_NOT_STATED: (
            "{length} of bead have to be laid faster than {speed} to be closed within"
            " {minutes:minutes}; how fast it is laid is not stated"
        ),
        LayingRemark.OPEN_TIME_NOT_STATED: (
            "whether {length} of bead can be laid in time is not known"
        ),
    }
)

TIMES_REMARK = N_(
    "Times are the product's own, at the conditions that its sheet states; cold and"
    " damp change them. The product's sheet and the maker's data decide."
)
IN_PLASTIC = N_("thread in plastic: the figure of the maker of the plastic part decides")
LEFT_HAND, ODD, CONTRADICTED = N_("LEFT-HAND THREAD"), N_("ODD FIGURE"), N_("CANNOT BE PROVEN")
_BOLTS: Mapping[Rule, str] = {
    Rule.RENEW: N_("NEW"),
    Rule.INSPECT: N_("AFTER A LOOK"),
    Rule.KEEP: N_("OLD"),
}


def is_angle(stage: Stage) -> bool:
    """Whether a stage turns on by an angle, so that no wrench is set."""
    return isinstance(stage, AngleStage)


def bolts_text(row: TightenRowView) -> str:
    """Whether new ones go in: "NEW", "AFTER A LOOK; 4 NEW LATER", "1 NEW, 2 PASSED"."""
    if row.failed is not None:
        return _("{new} NEW, {old} PASSED: THE OLD ONES GO BACK",
                 new=row.failed, old=row.count - row.failed)  # fmt: skip
    if row.new_first:
        return _(
            "NEW FIRST, THEN {then}; {renewed} NEW IN ALL",
            then=_(_BOLTS[row.rule]),
            renewed=row.renewed,
        )
    later = _("; {renewed} NEW LATER", renewed=row.renewed) if row.renewed else ""
    return (passed_text() if row.passed else _(_BOLTS[row.rule])) + later


def stage_text(stage: Stage) -> str:
    """A stage as published: "20 N·m", "4 N·m ± 0.3", "+90°", "turn back 90°"."""
    match stage:
        case TorqueStage():
            spread = "" if stage.tolerance is None else f" ± {plain(stage.tolerance)}"
            return f"{stage.torque}{spread}"
        case AngleStage():
            return f"+{stage}"
        case BackStage():
            return _("turn back {removeprefix}", removeprefix=str(stage).removeprefix("-"))
        case _:
            assert_never(stage)


def second_text(stage: Stage) -> str | None:
    """The figure in the other unit; None where it has none."""
    return None if stage.torque is None else second_unit(stage.torque)


def stages_text(stages: Sequence[Stage], second: bool = False) -> str:
    """All stages in turn, in the `second` unit if so asked; no stages is no figure."""
    texts = [(second_text(stage) if second else None) or stage_text(stage) for stage in stages]
    return " → ".join(texts) or _(NO_FIGURE)


def thread_text(state: ThreadState) -> str:
    """The state of the thread that a figure is given for."""
    return _("thread state not stated") if state == ThreadState.UNKNOWN else word_text(state)


def remark_text(remark: Reason) -> str:
    """A remark on figures, marked as what it is: odd, not proven, or not to be checked."""
    if _contradicts(remark) or remark.code in NOT_PROVEN:
        return f"{_(CONTRADICTED)}: {say(remark)}"
    return f"{_(ODD)}: {say(remark)}" if _odd(remark) else say(remark)


def is_odd(row: TighteningView) -> bool:
    """Whether anything about the figures of a position is odd."""
    return any(map(_odd, row.remarks))


def is_contradicted(row: TighteningView) -> bool:
    """Whether something is put on its thread that does not go with the state of the figure."""
    return any(map(_contradicts, row.remarks))


def _odd(remark: Reason) -> bool:
    return remark.code not in NOT_PROVEN | NO_RULE


def _contradicts(remark: Reason) -> bool:
    return isinstance(remark.code, ThreadRemark)


def tightening_text(row: TighteningView) -> str:
    """One line for a bag: "bolts 1 to 6: 10 N·m (7.38 lbf·ft) → +90°, dry".

    A left-hand thread, an odd figure and a thread in plastic are told with it; what contradicts the
    state of its thread in full, for a bag has what is put on.
    """
    stages = " → ".join(
        f"{stage_text(stage)} ({second})" if (second := second_text(stage)) else stage_text(stage)
        for stage in row.stages
    )
    told = [f"{stages or _(NO_FIGURE)}", thread_text(row.thread_state)]
    if row.left_hand:
        told.insert(0, _(LEFT_HAND))
    told += [remark_text(remark) for remark in row.remarks if _contradicts(remark)]
    if any(_odd(remark) and not _contradicts(remark) for remark in row.remarks):
        told.append(_("{odd}: see the tightening sheet", odd=_(ODD)))
    if any(remark.code is TorqueRemark.INTO_PLASTIC for remark in row.remarks):
        told.append(_(IN_PLASTIC))
    return f"{row.position}: {', '.join(told)}"


def general_text(view: GeneralTorqueView) -> str:
    """A figure of the general table: "25 N·m, class 8.8, dry"."""
    torque = show_torque(view.torque, view.torque.unit)
    return _(
        "{torque}, class {property_class}, {thread_state}",
        torque=torque,
        property_class=view.property_class,
        thread_state=view.thread_state,
    )


def times_text(times: CureTimes) -> str:
    """Both times of a product, with their source and temperature; what is not stated says so."""
    if times.open_minutes is None and times.cure_minutes is None:
        return _("open time and cure time {not_stated}", not_stated=_(NOT_STATED))
    at = (
        _("temperature not stated")
        if times.celsius is None
        else _("holds at {celsius} °C", celsius=times.celsius)
    )
    return f"{'; '.join(_times(times))} ({times.source}; {at})"


def _times(times: CureTimes) -> Iterator[str]:
    if times.open_minutes is None:
        yield _("open time {not_stated}", not_stated=_(NOT_STATED))
    else:
        yield _(
            "close within {open_minutes} of putting it on", open_minutes=minutes(times.open_minutes)
        )
    if times.cure_minutes is None:
        yield _("cure time {not_stated}", not_stated=_(NOT_STATED))
    else:
        yield _(
            "wait {cure_minutes} before fluids come in or the engine runs",
            cure_minutes=minutes(times.cure_minutes),
        )


def amount_text(laid: PutOnView | StepUseView) -> str:
    """How much is put on and how that arose: "film 6500 mm² × 0.1 mm → 0.65 ml", or "5 ml"."""
    without = "" if laid.sourced else f" ({_(NO_SOURCE)})"
    how = laid.how["how"] if laid.how.code == AmountReason.NOTED else laid.how
    if isinstance(how, Reason) and how.code == AmountReason.STATED:
        return f"{say(laid.how)}{without}"
    amount = show_quantity(laid.amount.thousandths, laid.amount.unit)
    return f"{say(laid.how)} → {amount}{without}"


def put_on_text(laid: PutOnView) -> str:
    """A product that is put on where nothing is tightened, in one line."""
    bead = "" if laid.laying is None else f"; {say(laid.laying)}"
    times = times_text(laid.times)
    return f"{laid.where}: {laid.item} {laid.name}, {amount_text(laid)}: {times}{bead}"


def verdict_text(product: ProductView, parked: int) -> str:
    """Whether a car that is parked so long stands long enough for a product, and why."""
    cure = product.times.cure_minutes
    why = (
        _("cure time {not_stated}", not_stated=_(NOT_STATED))
        if cure is None
        else _("needs {cure}", cure=minutes(cure))
    )
    return _(
        "{upper} ({why}, parked {parked})",
        upper=word_text(product.verdict).upper() if product.verdict else "",
        why=why,
        parked=minutes(parked),
    )


def curing_text(view: CuringView) -> str | None:
    """Whether the car stands long enough; None where that was not asked, or nothing has to set.

    Where it was not asked, that no time to stand would be known to do.
    """
    if view.verdict in (None, CureVerdict.NOTHING_TO_SET):
        return None
    if view.parked_minutes is None:
        return _(
            "{upper}: nobody can tell how long the car has to stand",
            upper=word_text(view.verdict).upper(),
        )
    return _(
        "{upper}: the car can stand {parked_minutes}",
        upper=word_text(view.verdict).upper(),
        parked_minutes=minutes(view.parked_minutes),
    )
