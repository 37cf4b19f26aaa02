"""Tools in words: what is asked of them, what does it, and why it cannot be done."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import assert_never

from kitting.facts.heads import Head
from kitting.facts.tool_reasons import LoadReason, ToolOfferReason, ToolReason, TrainNote
from kitting.facts.tool_words import (
    FigureVerdict,
    RangePolicy,
    ToolState,
    ToolTask,
    WrenchDirection,
)
from kitting.views.tools import (
    GapView,
    MarkedScale,
    RequirementView,
    ToolListing,
    ToolSpecView,
    ToolStateView,
    TrainView,
)
from kitting.views.van_day import VanGapView
from kitting.wording.figures import NO_FIGURE, day, format_quantity, plain
from kitting.wording.language import N_, _, general_text, in_figures, word_text
from kitting.wording.reasons import register, say
from kitting.wording.settings import setting_figure

register(
    {
        ToolReason.OF_TOOL: "{tool}: {reason}",
        ToolReason.NO_FIGURE: NO_FIGURE,
        ToolReason.NO_HEAD: "no head is stated: nobody can say what turns it",
        ToolReason.NO_TOOLBOX: "no toolbox is described",
        ToolReason.NONE_IN_BOX: "none in the box",
        ToolReason.NOTHING_TURNS_IT: "nothing in the box turns {head}",
        ToolReason.ONLY_FROM_THE_SIDE: (
            "something is in the way of a socket; from the side a crowfoot goes on,"
            " and a spanner to undo it"
        ),
        ToolReason.NO_STRAIGHT_WAY: (
            "no straight way to the head, and a universal joint is never for the final torque"
        ),
        ToolReason.DEPTH_NOT_STATED: "its depth is not stated, and the stud stands out",
        ToolReason.NOT_DEEP_ENOUGH: "{depth} deep, the stud stands out {stands_out}",
        ToolReason.LENGTH_NOT_STATED: "its length is not stated, and the head sits {recess} down",
        ToolReason.NOT_LONG_ENOUGH: "{length} long, {needed} are needed to reach the head",
        ToolReason.OFFSET_NOT_STATED: "its offset is not stated, and the head sits {recess} down",
        ToolReason.NOT_DOWN_A_RECESS: "its offset does not reach {recess} down",
        ToolReason.CROWFOOT_IN_RECESS: "a crowfoot does not go {recess} down a recess",
        ToolReason.PERHAPS_OPEN_ENDED: (
            "its points are not stated, and the head sits {recess} down: a ring goes there, an open"
            " end does not"
        ),
        ToolReason.POINTS_NOT_STATED: (
            "its points are not stated: twelve turn a twelve-point head, six do not"
        ),
        ToolReason.TOO_FEW_POINTS: "it has not the twelve points of the head",
        ToolReason.NO_SQUARE: "{tool} has no square for {handle}",
        ToolReason.SQUARE_TOO_WEAK: "a {square} in square is not rated for {torque}",
        ToolReason.PERHAPS_TOO_WEAK: (
            "it may take {torque} (reckoned), and a {square} in square is tested to {limit}"
            " (from memory)"
        ),
        ToolReason.LOAD_NOT_KNOWN: "nobody states the torque that it takes, and {reason}",
        ToolReason.NO_ADAPTOR: "no adaptor from {given} to {taken} in rated for {torque}",
        ToolReason.NO_EXTENSION: "no extension of {length} on a {square} in square",
        ToolReason.NO_UNIVERSAL_JOINT: "no universal joint on a {square} in square",
        ToolReason.NO_RATCHET_OR_BAR: "no ratchet or bar in the box",
        ToolReason.NO_BAR: "no bar in the box",
        ToolReason.NO_ANGLE_GAUGE: "no angle gauge in the box",
        ToolReason.GAUGE_SQUARE_NOT_STATED: (
            "its square is not stated: nobody can say that it goes between bar and head"
        ),
        ToolReason.GAUGE_DOES_NOT_FIT: (
            "its {square} in square goes nowhere between {handle} and {tool}"
        ),
        ToolReason.LEVER_NOT_STATED: "its length is not stated: nobody can say what a hand does",
        ToolReason.MORE_THAN_A_HAND: (
            "it may take {torque}, and a hand does {limit} with {length} ({force} N at its end:"
            " common practice, no source)"
        ),
        ToolReason.NO_TORQUE_WRENCH: "no torque wrench in the box",
        ToolReason.KEY_ONLY: "a key, no torque wrench drives it",
        ToolReason.RANGE_NOT_STATED: "its range is not stated",
        ToolReason.FIGURE_OFF_SCALE: "figure {setting} is off its scale ({low} to {high} N·m)",
        ToolReason.SETTING_OFF_SCALE: "setting {setting} is off its scale ({low} to {high} N·m)",
        ToolReason.BELOW_WHAT_IS_SPECIFIED: (
            "its scale begins at 0, and {setting} is below {start}, a fifth of its largest value,"
            " from where ISO 6789 says how far it may be off (from memory); its certificate may"
            " state a smaller value"
        ),
        ToolReason.CLOCKWISE_ONLY: "left-hand thread, and it measures clockwise only",
        ToolReason.DIRECTION_NOT_STATED: (
            "left-hand thread, and its direction is not stated: both, or clockwise?"
        ),
        ToolReason.THREAD_HAND_NOT_STATED: (
            "the thread is not stated: it may be left-hand, and nobody states that the wrench"
            " measures both ways"
        ),
        ToolReason.PERHAPS_NOT_TRUE_ENOUGH: (
            "its class is not stated: ±{percent} % (ISO 6789) would be ±{spread}, more than the"
            " ±{allowed} allowed"
        ),
        ToolReason.TRUENESS_NOT_STATED: (
            "neither its deviation nor its class (ISO 6789) is stated, and ±{allowed} is allowed"
        ),
        ToolReason.NOT_TRUE_ENOUGH: "±{percent} % is ±{spread}, more than the ±{allowed} allowed",
        ToolReason.DEVIATION_NOT_STATED: (
            "neither its deviation nor its class (ISO 6789) is stated: nobody can say how far it"
            " may be off"
        ),
        ToolReason.BEYOND_THE_STANDARD: (
            "it may be off by ±{percent} %, the figure states no tolerance, and ISO 6789 allows a"
            " hand torque tool ±{permitted} % (from memory)"
        ),
        ToolReason.PERHAPS_BEYOND_THE_STANDARD: (
            "it may be off by ±{percent} %, the figure states no tolerance, and its class is not"
            " stated: ISO 6789 allows some only ±{permitted} % (from memory)"
        ),
        ToolReason.LENT: "lent to {to} until {until:%a %d %b %Y}",
        ToolReason.LENT_WITHOUT_DATE: "lent to {to}, return not agreed",
        ToolReason.LENT_OVERDUE: (
            "lent to {to}, due back {due:%a %d %b %Y}, and its return is not recorded"
        ),
        ToolReason.AT_CALIBRATION_OVERDUE: (
            "at calibration, due back {due:%a %d %b %Y}, and its return is not recorded"
        ),
        ToolReason.AT_CALIBRATION: "at calibration until {until:%a %d %b %Y}",
        ToolReason.AT_CALIBRATION_WITHOUT_DATE: "at calibration",
        ToolReason.BROKEN: "broken",
        ToolReason.CALIBRATION_NOT_STATED: "its calibration date is not stated",
        ToolReason.CALIBRATION_ENDED: "calibration ended {ended:%d %b %Y}",
        ToolReason.TOO_MANY_CYCLES: "{cycles:,} cycles since calibration, {limit:,} is the limit",
    }
)
register(
    {
        LoadReason.UNDOING_ESTIMATED: (
            "reckoned with {torque} at most to undo: twice what strains {thread} {property_class}"
            " to its breaking load, friction {friction} at most (common practice, no source)"
        ),
        LoadReason.TURNING_ESTIMATED: (
            "reckoned with {torque} at most: what strains {thread} {property_class} to its breaking"
            " load, friction {friction} at most (common practice, no source)"
        ),
        LoadReason.THREAD_NOT_STATED: "no thread is stated to reckon it from",
        LoadReason.THREAD_NOT_RECKONED: "what a thread of {thread} bears is not reckoned here",
        LoadReason.CLASS_NOT_STATED: "no property class is stated to reckon it from",
        LoadReason.FRICTION_NOT_KNOWN: (
            "it is stainless steel, of which no highest friction is known here to reckon it with"
        ),
        LoadReason.TEST_TORQUES: (
            "squares of driving parts are taken up to their test torque (ISO 3315, from memory)"
        ),
    }
)
register(
    {
        TrainNote.CROWFOOT_SQUARE: "crowfoot at 90° to the wrench",
        TrainNote.CROWFOOT_STRAIGHT: "crowfoot straight ahead",
        TrainNote.NEAR_ENOUGH: "{sizes: or } is near enough to undo {size}, never to tighten it",
    }
)
register(
    {
        ToolOfferReason.SEVERAL_CURRENCIES: (
            "offers in several currencies ({currencies}) are not compared: name one"
        ),
    }
)

POLICIES: Mapping[RangePolicy, str] = {
    RangePolicy.MARKED: N_("the whole scale, from its lowest mark up (ISO 6789:2017)"),
    RangePolicy.FIFTH: N_("20 % to 100 % of the scale (ISO 6789:2003)"),
}
FIGURE_MARKS: Mapping[FigureVerdict, str] = {
    FigureVerdict.HAVE: "",
    FigureVerdict.UNKNOWN: N_("CANNOT BE PROVEN"),
    FigureVerdict.WRENCH: N_("TRAIN INCOMPLETE"),
    FigureVerdict.GAP: N_("NO WRENCH"),
}


def requirement_text(what: RequirementView) -> str:
    """What has to be done: "20 N·m on hexagon 10 mm", "undo six-lobe T45", a general tool."""
    head = _head_text(what.head, what.left_hand)
    match what.task:
        case ToolTask.GENERAL:
            return general_text(what.tool or "")
        case ToolTask.UNDO:
            return _("undo {head}", head=head)
        case ToolTask.ANGLE:
            return _("turn {head} by angle", head=head)
        case ToolTask.TORQUE:
            if what.torque is None:
                return _("tighten {head}: no figure", head=head)
            spread = "" if what.tolerance is None else f" ± {plain(what.tolerance)}"
            return _("{torque}{spread} on {head}", torque=what.torque, spread=spread, head=head)
        case _:
            assert_never(what.task)


def _head_text(head: Head | None, left_hand: bool) -> str:
    told = _("head not stated") if head is None else str(head)
    return _("{head} left-hand", head=told) if left_hand else told


def gap_text(gap: GapView) -> str:
    """A gap, with its number where several read the same."""
    number = f" ({gap.number})" if gap.number > 1 else ""
    return f"{requirement_text(gap.what)}{number}"


def tools_text(train: TrainView) -> str:
    """The tools of a train from hand to head, and where they are: "W-20-100 + S10 (bay)"."""
    boxes = f" ({', '.join(train.boxes)})" if train.boxes else ""
    return f"{' + '.join(train.tools)}{boxes}"


def setting_text(train: TrainView) -> str | None:
    """What the wrench is set to, or shows; None where there is no wrench."""
    figure = setting_figure(train)
    if figure is None:
        return None
    return (
        _("tighten to {figure} on the scale", figure=figure)
        if train.read
        else _("set {figure}", figure=figure)
    )


def train_text(train: TrainView) -> str:
    """ "W-20-100 + E3/8 + S10 (bay), set 19.6 N·m: crowfoot straight ahead"."""
    setting = setting_text(train)
    text = tools_text(train) + (f", {setting}" if setting else "")
    return f"{text}: {say(train.note)}" if train.note else text


def scale_text(scale: MarkedScale) -> str:
    """A scale as marked: "5 to 25 N·m"."""
    return _("{figure} to {high}", figure=plain(scale.low.figure), high=scale.high)


def marks_text(tool: ToolListing) -> str:
    """The scale of a tool with its steps: "5 to 25 N·m, steps of 0.5 N·m"; "" without one."""
    if tool.scale is None:
        return ""
    scale = scale_text(tool.scale)
    if tool.resolution is not None:
        return _("{scale}, steps of {resolution}", scale=scale, resolution=tool.resolution)
    return _("{scale}, steps not stated", scale=scale) if tool.lacks_steps else scale


def resolution_text(tool: ToolListing) -> str:
    """What was recorded of the steps of a scale: "bay W: 5 to 25 N·m, steps of 0.5 N·m"."""
    return f"{tool.box} {tool.code}: {marks_text(tool)}"


def where_text(tool: ToolListing) -> str:
    """Where a tool is, and until when it is calibrated."""
    where = word_text(tool.state)
    if tool.state == ToolState.LENT:
        where = _("lent to {lent_to}", lent_to=tool.lent_to) + (
            _(" until {back_on}", back_on=day(tool.back_on)) if tool.back_on else ""
        )
    if tool.calibrated_to:
        where += _(", calibrated to {calibrated_to}", calibrated_to=day(tool.calibrated_to))
    return where


def recorded_text(view: ToolStateView) -> str:
    """What was recorded of a tool: "van V-R-38: lent to Canal Yard until 2026-04-20"."""
    whom = _(" to {lent_to}", lent_to=view.lent_to) if view.lent_to else ""
    when = _(" until {back_on}", back_on=day(view.back_on)) if view.back_on else ""
    return f"{view.box} {view.code}: {word_text(view.state)}{whom}{when}"


def spec_text(spec: ToolSpecView) -> str:
    """What a tool on offer is: "torque wrench 3/8 in 20–100 N·m"."""
    return " ".join(_spec_parts(spec))


def _spec_parts(spec: ToolSpecView) -> Iterator[str]:
    yield general_text(spec.general) if spec.general else word_text(spec.sort)
    if spec.turns is not None:
        yield str(spec.turns)
    squares = [_("{square} in", square=square) for square in (spec.takes, spec.gives) if square]
    if squares:
        yield " → ".join(squares)
    if spec.scale is not None:
        yield f"{plain(spec.scale.low.figure)}–{spec.scale.high}"
    for text, length in (
        (N_("{length} long"), spec.length),
        (N_("{length} deep"), spec.depth),
        (N_("{length} offset"), spec.offset),
    ):
        if length is not None:
            yield _(text, length=in_figures(format_quantity(length, "mm")))
    if spec.points is not None:
        yield _("{points} points", points=spec.points)
    yield from _wrench_parts(spec)


def _wrench_parts(spec: ToolSpecView) -> Iterator[str]:
    if spec.direction is not None:
        yield _("both ways") if spec.direction == WrenchDirection.BOTH else _("clockwise only")
    if spec.wrench_class is not None:
        yield _("class {wrench_class}", wrench_class=spec.wrench_class)
    if spec.calibrated_to is not None:
        yield _("calibrated to {calibrated_to}", calibrated_to=day(spec.calibrated_to))
    if spec.deviation is not None:
        yield f"±{plain(spec.deviation)} %"
    if spec.resolution is not None:
        yield _("steps of {resolution}", resolution=spec.resolution)


def van_gap_text(gap: VanGapView) -> str:
    """What the van's boxes cannot do, why, and at which stops."""
    reasons = "; ".join(map(say, gap.reasons))
    return f"{requirement_text(gap.what)}: {reasons} ({', '.join(gap.stops)})"
