"""What the hand sets: a wrench to a mark of its scale, an angle on a gauge; what was published."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from kitting.facts.scale_reasons import ScaleReason
from kitting.views.tightening import BareBagView, TightenStageView
from kitting.views.tools import TrainView
from kitting.wording.figures import plain, second_unit, show_torque
from kitting.wording.language import N_, _, in_figures, n_
from kitting.wording.reasons import register
from kitting.wording.tightening import is_angle, stage_text

register(
    {
        ScaleReason.OUT_OF_TOLERANCE: N_(
            "CANNOT BE SET on its scale: {setting} lies between two marks, the nearest is {mark},"
            " and at the fastener that is off by {off}, more than the ±{allowed} allowed"
        ),
        ScaleReason.NO_TOLERANCE: N_(
            "{setting} lies between two marks of its scale, the nearest is {mark} (off by {off} at"
            " the fastener), and no tolerance is stated: nobody can say that this will do"
        ),
        ScaleReason.PERHAPS_OUT_OF_TOLERANCE: N_(
            "{setting} lies between two marks of its scale, the nearest is {mark}: off by {off} at"
            " the fastener, and with what the wrench may be off, it may be more than the ±{allowed}"
            " allowed"
        ),
        ScaleReason.STEPS_NOT_STATED: N_(
            "the steps of its scale are not stated: state its 'resolution', how far two marks of it"
            " are apart"
        ),
    }
)


def setting_figure(train: TrainView) -> str | None:
    """What the wrench is set to, or shows: at a mark of its scale where those are stated.

    Where they are not, to three figures. None where there is no wrench.
    """
    if train.setting is None:
        return None
    if train.resolution is None:
        return in_figures(show_torque(train.setting, train.setting.unit))
    return in_figures(f"{plain(train.setting.figure)} {train.setting.unit}")


def hand_text(stage: TightenStageView) -> str | None:
    """What the hand does with the figure below it: the words above the largest of a stage."""
    if stage.stage.torque is None:
        return _("TURN ON BY") if is_angle(stage.stage) else None
    if stage.train is None or stage.train.setting is None:
        return _("PUBLISHED FIGURE, NOTHING IS SET YET")
    if stage.train.read:
        if stage.train.corrected:
            return _("CORRECTED FOR THE CROWFOOT: TIGHTEN UNTIL THE SCALE SHOWS")
        return _("TIGHTEN UNTIL THE SCALE SHOWS")
    if stage.train.corrected:
        return _("CORRECTED FOR THE CROWFOOT: SET THE WRENCH TO")
    return _("SET THE WRENCH TO")


def hand_figure(stage: TightenStageView) -> str:
    """The largest of a stage: the setting in the wrench's own unit, the angle, else the figure."""
    if stage.train is not None and (figure := setting_figure(stage.train)) is not None:
        return figure
    return in_figures(stage_text(stage.stage))


def published_text(stage: TightenStageView) -> str | None:
    """The figure as published with its other unit: "published 75 lbf·in (8.47 N·m)".

    Where the published figure is the largest of a stage, the other unit alone; None for an angle.
    """
    if stage.stage.torque is None:
        return None
    second = second_unit(stage.stage.torque)
    if stage.train is None or stage.train.setting is None:
        return second
    published = in_figures(stage_text(stage.stage))
    if second is None:
        if stage.train.corrected:
            return _("published {figure}, at the fastener", figure=published)
        return _("published {figure}", figure=published)
    if stage.train.corrected:
        return _("published {figure} ({second}), at the fastener", figure=published, second=second)
    return _("published {figure} ({second})", figure=published, second=second)


def scale_text(train: TrainView) -> str | None:
    """How close the scale is read; None where there is no wrench, or nobody states it."""
    if train.setting is None or train.resolution is None:
        return None
    step = in_figures(f"{plain(train.resolution.figure)} {train.resolution.unit}")
    return _("scale in steps of {step}", step=step)


def check_scale_text(train: TrainView) -> str | None:
    """That a scale may lack the mark that is set; None where its steps are stated."""
    if train.setting is None or train.resolution is not None:
        return None
    return _("CHECK THAT ITS SCALE HAS THIS MARK (steps not stated)")


def stage_number(number: int, count: int) -> str:
    """Which stage it is: "STAGE 1 of 2"; "" where it is the only one."""
    return _("STAGE {number} of {count}", number=number, count=count) if count > 1 else ""


def no_figure_texts(bags: Sequence[BareBagView]) -> Iterator[str]:
    """ "No figure is asked in BAG 2, 5: 2 return line, 5 cooler line"; nothing without any."""
    if bags:
        numbers = ", ".join(str(bag.bag) for bag in bags)
        yield n_(
            "No figure is asked in BAG {numbers}: {joints}.",
            "No figure is asked in BAGS {numbers}: {joints}.",
            len(bags),
            numbers=numbers,
            joints="; ".join(dict.fromkeys(bag.joint_name for bag in bags)),
        )
