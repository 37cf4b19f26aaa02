"""Stages of a tightening: to a torque, on or back by an angle. Everything else asks the stage.

A new kind of stage is a class here with the same questions, a place in `KINDS`, and its words in
`kitting.wording.tightening`.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass, field
from decimal import Decimal
from typing import Any, TypeAlias

from kitting.errors import FigureError
from kitting.facts.amounts import Thousandths
from kitting.facts.tool_words import ToolSort, ToolTask
from kitting.facts.torque_bands import parse_torque_band
from kitting.facts.units import Torque, parse_angle, plain
from kitting.facts.words import StageKind

# The columns of the table of stages that hold a figure; each kind fills in its own.
COLUMNS = ("torque", "torque_unit", "tolerance", "angle", "back")
_SIGNED_TORQUE = re.compile(r"\+\s*[0-9.]+\s*(?!°|deg)[^\W\d].*", re.IGNORECASE)
_BARE = re.compile(r"\+?[0-9]+(?:\.[0-9]+)?")
_TURN = re.compile(r"\b(?:turns?|rev|grad|gon)\b")
_ANGLE = re.compile(r"°|\bdeg")
_TWO = re.compile(r"([^+−]*[A-Za-z])\s*([-+−])\s*([0-9][^+]*)")
_BACK = re.compile(
    r"(?:then\s+)?(?:[-−–]|(?:turn\s+back|back\s+off|loosen|slacken|undo|back)(?:\s+by)?\b)\s*(.*)",
    re.IGNORECASE,
)


@dataclass(frozen=True, slots=True)
class TorqueStage:
    """Tighten to a torque, as published; `tolerance` is in the same unit, None if not stated."""

    torque: Torque
    tolerance: Decimal | None = None
    kind: StageKind = field(default=StageKind.TORQUE, init=False)

    def __str__(self) -> str:
        band = "" if self.tolerance is None else f" ± {plain(self.tolerance)}"
        return f"{self.torque}{band}"

    @property
    def task(self) -> ToolTask:
        """What is asked of the tools."""
        return ToolTask.TORQUE

    @property
    def instrument(self) -> ToolSort:
        """What measures it."""
        return ToolSort.TORQUE_WRENCH

    @property
    def turn(self) -> Thousandths:
        """No angle of its own."""
        return 0

    @property
    def back(self) -> Thousandths:
        """It is not turned back."""
        return 0

    @property
    def allowed(self) -> Decimal | None:
        """The tolerance in N·m."""
        if self.tolerance is None:
            return None
        return Torque(self.tolerance, self.torque.unit).newton_metres

    @property
    def columns(self) -> dict[str, int | str | None]:
        """The stage as a row: thousandths of the figure as published."""
        return _row(
            torque=int(self.torque.figure * 1000),
            torque_unit=self.torque.unit,
            tolerance=None if self.tolerance is None else int(self.tolerance * 1000),
        )

    @classmethod
    def read(cls, text: str) -> TorqueStage | None:
        """Read "20 N·m", "4 ± 0.3 N·m" or "4 N·m ± 0.3"; raises FigureError."""
        torque, tolerance = parse_torque_band(text)
        if torque.figure <= 0:
            raise FigureError(
                "{text!r} is no tightening figure; leave the stages out if the figure is unknown",
                text=text,
            )
        if tolerance is not None and tolerance >= torque.figure:
            raise FigureError(
                "{text!r} has a tolerance as large as its figure, so that nothing would do too;"
                " give both as published",
                text=text,
            )
        for figure in (torque.figure, tolerance or Decimal(0)):
            if figure != round(figure, 3):
                raise FigureError(
                    "{text!r} is finer than a thousandth; give the figure as published", text=text
                )
        return cls(torque, tolerance)

    @classmethod
    def of_row(cls, row: Mapping[str, Any]) -> TorqueStage | None:
        """The stage of a row, None for a row of another kind."""
        if row["torque"] is None:
            return None
        tolerance = row["tolerance"]
        return cls(
            Torque(Decimal(row["torque"]) / 1000, row["torque_unit"]),
            None if tolerance is None else Decimal(tolerance) / 1000,
        )


@dataclass(frozen=True, slots=True)
class _ByAngle:
    """A turn by an angle, in thousandths of a degree: no wrench is set for it."""

    angle: Thousandths

    @property
    def task(self) -> ToolTask:
        """What is asked of the tools."""
        return ToolTask.ANGLE

    @property
    def instrument(self) -> ToolSort:
        """What measures it."""
        return ToolSort.ANGLE_GAUGE

    @property
    def torque(self) -> None:
        """No wrench is set for it."""
        return None

    @property
    def tolerance(self) -> None:
        """No tolerance of a torque."""
        return None

    @property
    def allowed(self) -> None:
        """No tolerance of a torque."""
        return None


@dataclass(frozen=True, slots=True)
class AngleStage(_ByAngle):
    """Turn on by an angle, in thousandths of a degree."""

    kind: StageKind = field(default=StageKind.ANGLE, init=False)

    def __str__(self) -> str:
        return f"{plain(Decimal(self.angle) / 1000)}°"

    @property
    def turn(self) -> Thousandths:
        """How far it turns on, in thousandths of a degree."""
        return self.angle

    @property
    def back(self) -> Thousandths:
        """It is not turned back."""
        return 0

    @property
    def columns(self) -> dict[str, int | str | None]:
        """The stage as a row."""
        return _row(angle=self.angle)

    @classmethod
    def read(cls, text: str) -> AngleStage | None:
        """Read "+90°" or "90 deg"; None where it is no angle; raises FigureError."""
        if not _ANGLE.search(text):
            return None
        return cls(parse_angle(text.strip().removeprefix("+")))

    @classmethod
    def of_row(cls, row: Mapping[str, Any]) -> AngleStage | None:
        """The stage of a row, None for a row of another kind."""
        return None if row["angle"] is None or row["back"] else cls(row["angle"])


@dataclass(frozen=True, slots=True)
class BackStage(_ByAngle):
    """Turn back by an angle, in thousandths of a degree."""

    kind: StageKind = field(default=StageKind.BACK, init=False)

    def __str__(self) -> str:
        return f"-{plain(Decimal(self.angle) / 1000)}°"

    @property
    def turn(self) -> Thousandths:
        """It does not turn on."""
        return 0

    @property
    def back(self) -> Thousandths:
        """How far it turns back, in thousandths of a degree."""
        return self.angle

    @property
    def columns(self) -> dict[str, int | str | None]:
        """The stage as a row."""
        return _row(angle=self.angle, back=True)

    @classmethod
    def read(cls, text: str) -> BackStage | None:
        """Read "-90°", "turn back 90°" or "loosen 90°"; None for others; raises FigureError."""
        match = _BACK.fullmatch(text.strip())
        if match is None or not _ANGLE.search(match[1]):
            return None
        return cls(parse_angle(match[1]))

    @classmethod
    def of_row(cls, row: Mapping[str, Any]) -> BackStage | None:
        """The stage of a row, None for a row of another kind."""
        return cls(row["angle"]) if row["back"] else None


Stage: TypeAlias = TorqueStage | AngleStage | BackStage
# In the order in which a text is offered to them: the last one takes or refuses it.
KINDS: tuple[type[BackStage] | type[AngleStage] | type[TorqueStage], ...] = (
    BackStage, AngleStage, TorqueStage,
)  # fmt: skip


def _row(**filled: int | str | None) -> dict[str, int | str | None]:
    return dict.fromkeys(COLUMNS) | {"back": False} | filled


def _refuse_what_is_no_stage(text: str) -> None:
    """Refuse words, a figure that may be either kind, and two stages in one."""
    shown = text.strip()[:60]
    if not any(sign.isdigit() for sign in text):
        if _BACK.fullmatch(shown):
            raise FigureError(
                "{shown!r} does not say how far; write by how much it is turned back, such as"
                " '-90°', or '-360°' for what is undone",
                shown=shown,
            )
        raise FigureError(
            "{shown!r} is no figure; give the figure as published, or leave the stages out if it"
            " is unknown",
            shown=shown,
        )
    if _BARE.fullmatch(shown):
        figure = shown.removeprefix("+")
        raise FigureError(
            "{shown!r} is a figure without unit; write as published, for example '{figure} N·m'"
            " or '{figure} lbf·in' for a torque, '{figure}°' for an angle",
            shown=shown,
            figure=figure,
        )
    if _SIGNED_TORQUE.fullmatch(shown):
        raise FigureError(
            "{shown!r}: is that a torque, or so much more than the stage before? Write the torque"
            " that the wrench is set to, without a sign",
            shown=shown,
        )
    if _TURN.search(shown) and not _BACK.fullmatch(shown):
        raise FigureError(
            "{shown!r} is no angle in degrees; write the turn in degrees, such as '90°' for a"
            " quarter",
            shown=shown,
        )
    two = _TWO.fullmatch(shown)
    if two is not None and _ANGLE.search(two[3]) and not _ANGLE.search(two[1]):
        raise FigureError(
            f"{shown!r} is two stages; write them one after the other: [{two[1].strip()},"
            f" {'+' if two[2] == '+' else '-'}{two[3].strip()}]"
        )


def parse_stage(text: str) -> Stage:
    """Read "20 N·m", "4 ± 0.3 N·m", "+90°" or "-90°", and whatever a stage is told as.

    Raises FigureError for a figure without unit or of no size.
    """
    _refuse_what_is_no_stage(text)
    for kind in KINDS:
        stage = kind.read(text)
        if stage is not None:
            return stage
    raise FigureError("{text!r} is no stage of a tightening", text=text)


def stage_of_row(row: Mapping[str, Any]) -> Stage:
    """The stage of a row with COLUMNS; raises ValueError for a row of no kind."""
    for kind in KINDS:
        stage = kind.of_row(row)
        if stage is not None:
            return stage
    raise ValueError(f"a stage without a figure: {dict(row)!r}")
