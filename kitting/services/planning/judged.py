"""A plan as it was judged: parts and uses with what stands for them and what is in doubt."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace

from kitting.calc.planning.needs import FitFacts
from kitting.calc.planning.packets import Taking
from kitting.calc.planning.renewal import Ruling
from kitting.calc.planning.variants import SplitFacts
from kitting.calc.tightening.torque_plausibility import remarks
from kitting.facts.conditions import CarFacts
from kitting.facts.reasons import Reason
from kitting.facts.verdicts import Doubt, Verdict, verdict_of
from kitting.facts.words import Rule
from kitting.services.planning.facts import ItemFacts, PlanFacts, TighteningFacts
from kitting.services.planning.rubber_check import Clash, RubberCheck
from kitting.services.planning.rubber_touching import Brought


@dataclass(frozen=True, slots=True)
class OpenSplit:
    """A split nobody has settled, and the jobs that wait for it.

    `only_looks`: all that waits goes back if it passes its look; the work waits for nothing.
    """

    split: SplitFacts
    because: Reason
    joints: tuple[int, ...]
    stops: tuple[str, ...]
    only_looks: bool = False


@dataclass(frozen=True, slots=True)
class JudgedPart:
    """What one position comes to: the rule and who decided it, the amount, and the verdict.

    The joint asks for `asked`; `item` stands for it: the same, what replaces it, or what was chosen
    instead. `quantity` is of `item`. `opened` is how often the
    joint is opened, `jobs` are those it is opened for. `rubbers` hold every contact of it; a
    `clash` or an open variant (`variants`, their codes) stops it.
    `options` are those of open variants under which it is taken at all.
    `worn_out` is renewed for certain beside it, at another opening. `contradiction` is how what is
    put on its thread does not go with the state for which its figure was given.
    """

    fit: FitFacts
    asked: ItemFacts
    item: ItemFacts
    ruling: Ruling
    quantity: int
    opened: int
    jobs: tuple[str, ...]
    doubts: tuple[Doubt, ...] = ()
    variants: tuple[str, ...] = ()
    options: tuple[str, ...] = ()
    clash: Clash | None = None
    rubbers: tuple[RubberCheck, ...] = ()
    worn_out: int = 0
    contradiction: Reason | None = None

    @property
    def verdict(self) -> Verdict:
        """What it comes to, the weakest of its parts."""
        return verdict_of(self.doubts)

    @property
    def stopped(self) -> bool:
        """Whether nothing of it is ordered, picked or labelled."""
        return bool(self.variants) or self.clash is not None

    @property
    def fitted(self) -> ItemFacts:
        """What is tightened there: what is fetched, or what goes back unless it fails."""
        fetched = self.ruling.rule is Rule.RENEW or self.ruling.new_first
        return self.item if fetched else self.asked

    @property
    def exchanged(self) -> bool:
        """Whether what is tightened is another item than the joint asks for."""
        return self.fitted.key != self.asked.key

    @property
    def fates(self) -> tuple[JudgedPart, ...]:
        """What becomes of it, each with its amount: going back at one opening, new at another."""
        found = (self,) if self.quantity else ()
        if not self.worn_out:
            return found
        later = self.ruling.worn_out(self.opened)
        return (*found, replace(self, ruling=later, quantity=self.worn_out, worn_out=0))


@dataclass(frozen=True, slots=True)
class JudgedUse:
    """What one use comes to; `fit` is set for a lubricant of a position, stopped as a part is.

    `how` tells how the amount arose; `item` stands for `asked`; `options` as of a part.
    `bead` is the length of a bead in thousandths of a millimetre.
    """

    asked: ItemFacts
    item: ItemFacts
    quantity: int
    how: Reason
    jobs: tuple[str, ...]
    opened: int
    joint: int | None
    step: int | None
    fit: FitFacts | None = None
    doubts: tuple[Doubt, ...] = ()
    variants: tuple[str, ...] = ()
    options: tuple[str, ...] = ()
    clash: Clash | None = None
    bead: int | None = None

    @property
    def verdict(self) -> Verdict:
        """What it comes to, the weakest of its parts."""
        return verdict_of(self.doubts)

    @property
    def stopped(self) -> bool:
        """Whether nothing of it is ordered, picked or labelled."""
        return bool(self.variants) or self.clash is not None


@dataclass(frozen=True, slots=True)
class Draft(PlanFacts):
    """A plan as it was judged.

    `known` is the car with every split settled that can be. `parts` and `uses` are what the car
    takes however its open splits come out; `stopped_parts` and `stopped_uses` wait for them.
    `taking` says what packets bring, `brought` what of it comes to rubber without a place of its
    own.
    """

    known: CarFacts
    open_splits: tuple[OpenSplit, ...]
    rulings: Mapping[int, Ruling]
    parts: tuple[JudgedPart, ...]
    stopped_parts: tuple[JudgedPart, ...]
    uses: tuple[JudgedUse, ...]
    stopped_uses: tuple[JudgedUse, ...]
    taking: Taking
    brought: tuple[Brought, ...] = ()

    @property
    def every_part(self) -> tuple[JudgedPart, ...]:
        """The parts, those that wait for a variant last."""
        return (*self.parts, *self.stopped_parts)

    @property
    def every_use(self) -> tuple[JudgedUse, ...]:
        """The uses, those that wait for a variant last."""
        return (*self.uses, *self.stopped_uses)

    def tightening(self, part: JudgedPart) -> TighteningFacts | None:
        """How a part is tightened; a figure given for another part is withheld."""
        known = self.contents.tightenings.get(part.fit.key)
        if known is None or not part.exchanged:
            return known
        return replace(known, stages=(), source=None) if part.item.kind.threaded else None

    def figure_remarks(self, part: JudgedPart) -> tuple[Reason, ...]:
        """What is odd about the figures of a part, or cannot be told of them."""
        known = self.tightening(part)
        if known is None:
            return ()
        found = remarks(known.stages, part.fitted.held_at(part.fit.reach), known.thread_state)
        if part.contradiction is None or part.exchanged:
            return found
        return (part.contradiction, *found)

    def in_group(self, part: JudgedPart) -> int:
        """What is renewed if one of a part's group fails, in thousandths."""
        group = self.group_of(part.fit)
        return sum(
            other.quantity
            for other in (self.every_part if part.stopped else self.parts)
            if self.group_of(other.fit) == group and other.ruling.rule != Rule.RENEW
        )

    def stopped_by(self, job: str) -> tuple[str, ...]:
        """Codes of the splits that a job waits for."""
        return tuple(
            one.split.code for one in self.open_splits if job in one.stops and not one.only_looks
        )
