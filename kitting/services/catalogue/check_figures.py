"""Faults of the figures of a catalogue file: what no such fastener bears."""

from __future__ import annotations

from collections.abc import Iterator

from kitting.calc.tightening.held import Held
from kitting.calc.tightening.torque_plausibility import doubt
from kitting.errors import Problem
from kitting.files.catalogue.document import Tightening
from kitting.files.catalogue.source import Place, Source


def figure_faults(
    source: Source, place: Place, thing: str, tightening: Tightening, held: Held
) -> Iterator[Problem]:
    """Stages whose torque would break what it is for."""
    for number, stage in enumerate(tightening.stages):
        reason = doubt(stage, held, tightening.thread)
        if reason is not None:
            yield source.problem((*place, "stages", number), thing, *reason)
