"""A completion chance with what it was found of, for who acts on its spares."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from kitting.calc.advice.spare_costs import PIECE
from kitting.calc.advice.spares import Line, chance_of
from kitting.views.completion import CompletionView


@dataclass(frozen=True, slots=True)
class Weighed:
    """A completion chance as it is shown, with the lines it was found of.

    `to_bring` are the proposed spares beyond what packets of the plan bring (`brought`), both in
    thousandths by item.
    """

    view: CompletionView
    lines: Sequence[Line]
    to_bring: Mapping[int, int]
    brought: Mapping[int, int]

    def reached_with(self, taken: Mapping[int, int]) -> bool:
        """Whether some spares, thousandths by item, and those of packets reach the target."""
        spares = {
            line.key: min(
                line.most, (taken.get(line.key, 0) + self.brought.get(line.key, 0)) // PIECE
            )
            for line in self.lines
        }
        return chance_of(self.lines, spares) >= self.view.target
