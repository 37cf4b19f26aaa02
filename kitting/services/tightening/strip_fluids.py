"""What runs out at each step: which fluid, what it does to people, how much is filled in again."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from kitting.facts.strip_down import ComesOut, comes_out
from kitting.facts.units import Quantity
from kitting.services.planning.facts import FluidFacts
from kitting.services.planning.judged import Draft, JudgedUse
from kitting.views.strip import FluidOutView, RefillView

_WORST_FIRST = tuple(ComesOut)


class FluidsOut:
    """The fluids of a strip-down; steps are asked for in their order."""

    def __init__(self, facts: Draft) -> None:
        self._facts = facts
        self._drained: dict[str, str] = {}  # medium → the step that drained it

    def at(self, step: int, joints: Iterable[int]) -> Iterator[FluidOutView]:
        """What comes out of the joints that a step opens; nothing of which nothing is caught."""
        here = [self._facts.contents.joints[joint] for joint in joints]
        fluids = dict.fromkeys(code for joint in here for code in joint.fluids)
        drained: dict[str, str] = {}
        for code in fluids:
            fluid = self._facts.contents.fluids[code]
            out = min(
                (
                    comes_out(code, fluid.medium, joint.system)
                    for joint in here
                    if code in joint.fluids
                ),
                key=_WORST_FIRST.index,
            )
            if out is ComesOut.NOTHING:
                continue
            refills = tuple(self._refills(step, fluid))
            if refills and fluid.medium is not None:
                drained[fluid.medium] = self._facts.names.steps[step]
            yield FluidOutView(
                fluid=fluid.name,
                comes_out=out,
                hazards=tuple(self._hazards(fluid)),
                refills=refills,
                drained_at=None if refills else self._drained.get(fluid.medium or ""),
            )
        self._drained |= drained

    def _hazards(self, fluid: FluidFacts) -> Iterator[str]:
        carried = self._facts.contents.cautions
        for code in carried.of("fluid", [fluid.key]):
            yield carried.texts[code].word or carried.texts[code].title

    def _refills(self, step: int, fluid: FluidFacts) -> Iterator[RefillView]:
        for use in self._facts.every_use:
            if use.step == step and use.bead is None and _is(use, fluid):
                yield RefillView(
                    use.item.code, use.item.name, Quantity(use.quantity, use.item.unit)
                )


def _is(use: JudgedUse, fluid: FluidFacts) -> bool:
    return fluid.medium is not None and use.item.medium == fluid.medium
