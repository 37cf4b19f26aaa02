"""What would do instead of what clashes: each candidate is planned in its place, and judged there.

A candidate is named only where the plan with it would be fine, or would be but for opinions of
medium certainty that it suits.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping, Set
from dataclasses import dataclass, field, replace

from kitting.calc.planning.needs import FitFacts
from kitting.calc.rubber.compatibility import Contact
from kitting.facts.conditions import CarFacts
from kitting.facts.doubt_reasons import DoubtReason
from kitting.facts.plan_reasons import ContactPlace
from kitting.facts.verdicts import Aspect, Doubt
from kitting.facts.words import Certainty, ContactState, NeedRule, Rating
from kitting.services.planning.doubts import differs
from kitting.services.planning.facts import ItemFacts, PlanFacts
from kitting.services.planning.judge import judge_plan
from kitting.services.planning.judged import Draft
from kitting.services.planning.nearby import spoils_at
from kitting.services.planning.question import Question
from kitting.services.planning.read_alternatives import Alternatives
from kitting.services.planning.rubber_check import Checks, Instead, RubberCheck, check_rubbers
from kitting.services.planning.rubber_touching import Brought, joints_of_use
from kitting.services.planning.stand_ins import HowItStands, StandIn, StandIns

# Another rubber is what is looked for.
_MEANT = (DoubtReason.ANOTHER_RUBBER,)


@dataclass(frozen=True, slots=True)
class Trials:
    """Candidates tried at the places of a plan, with all else as it is there."""

    facts: PlanFacts
    stands: StandIns
    known: CarFacts
    brought: tuple[Brought, ...]
    alternatives: Alternatives
    _products: dict[tuple[int, str], Instead] = field(default_factory=dict)

    def named(self, checks: Checks) -> Checks:
        """The checks with what would do instead of what clashes."""
        fits = {fit.key: fit for fit in self.facts.contents.fits}
        return {
            (fit, item): tuple(
                replace(check, instead=self._instead(fits[fit], check)) for check in rubbers
            )
            for (fit, item), rubbers in checks.items()
        }

    def _instead(self, fit: FitFacts, check: RubberCheck) -> Mapping[str | None, Instead]:
        """What would do for each product that clashes, and for the item itself (None)."""
        found = dict[str | None, Instead]()
        if check.clash():
            found[None] = self._rings(fit, check.item)
        for contact in check.contacts:
            if contact.state is ContactState.CLASH and contact.against.on_rubber:
                place = fit.joint, contact.what
                if place not in self._products:
                    self._products[place] = self._of_product(*place)
                found[contact.what] = self._products[place]
        return found

    def _rings(self, fit: FitFacts, own: ItemFacts) -> Instead:
        """Listed rings, then others of the same size."""
        listed = self.alternatives.listed.get(own.key, ())
        sized = self.alternatives.sized.get(own.key, ())
        return _graded(
            (one.code, self._with_ring(fit, own, one))
            for one in dict.fromkeys((*listed, *sized))
            if one.elastomer is not None
        )

    def _with_ring(self, fit: FitFacts, own: ItemFacts, one: ItemFacts) -> Trial:
        """Another ring in its place; who names a lubricant has not named it for that ring."""
        there = replace(fit, item=one.key, lubricant_source=None, car_lubricant=None)
        facts = self._facts({fit.joint}, lambda other: there if other.key == fit.key else other)
        judged = self._judged(facts, self.brought)
        parts = [part for part in judged.every_part if part.fit.key == fit.key]
        chosen = StandIn(one, how=HowItStands.CHOSEN)
        asked = (
            Question(facts, fit, part.ruling.rule, asked=own, stand_in=chosen) for part in parts
        )
        other = [doubt for each in asked for doubt in differs(each)]
        return Trial(
            [contact for part in parts for check in part.rubbers for contact in _all(check)],
            [doubt for doubt in other if doubt.because.code not in _MEANT]
            + [doubt for part in parts for doubt in part.doubts],
        )

    def _of_product(self, joint: int, code: str) -> Instead:
        """What is listed instead of a product, wherever that comes to with this joint."""
        own = next(item for item in self.facts.contents.items.values() if item.code == code)
        listed = self.alternatives.listed.get(own.key, ())
        return _graded((one.code, self._with_product(joint, own, one)) for one in listed)

    def _with_product(self, joint: int, own: ItemFacts, one: ItemFacts) -> Trial:
        """Another product wherever it is put on, used or brought."""
        contents = self.facts.contents
        uses = [use for use in contents.uses if joint in self._joints(use.joint, use.step)]
        swapped = {use.key for use in uses if self._is(own, use.item)}
        joints = {joint}
        for use in uses:
            joints |= self._joints(use.joint, use.step) if use.key in swapped else set()

        def put_on(fit: FitFacts) -> FitFacts:
            if fit.joint != joint or fit.lubricant is None or not self._is(own, fit.lubricant):
                return fit
            return replace(fit, lubricant=one.key, lubricant_source=None)

        facts = self._facts(joints, put_on)
        used = tuple(
            replace(use, item=one.key, open_length=one.open_length) if use.key in swapped else use
            for use in facts.contents.uses
        )
        facts = replace(facts, contents=replace(facts.contents, uses=used))
        brought = tuple(
            replace(each, product=one) if each.product.key == own.key else each
            for each in self.brought
        )
        judged = self._judged(facts, brought)
        comes = (*self._of(one), *self._stands.may_come(one))
        codes = {other.item.code for other in comes}
        return Trial(
            [
                contact
                for part in judged.every_part
                for check in part.rubbers
                for contact in _all(check)
                if contact.against.on_rubber and contact.what in codes
            ],
            [doubt for use in judged.every_use if use.asked.key == one.key for doubt in use.doubts]
            + [doubt for other in comes for doubt in spoils_at(facts, joints, other.item)],
        )

    def _is(self, own: ItemFacts, asked: int) -> bool:
        """Whether a product is what is asked for, or stands or may stand for it."""
        item = self.facts.contents.items[asked]
        return any(
            one.item.key == own.key for one in (*self._of(item), *self._stands.may_come(item))
        )

    def _of(self, item: ItemFacts) -> tuple[StandIn, ...]:
        return self._stands.of(item, NeedRule.USE)

    @property
    def _stands(self) -> StandIns:
        return replace(self.stands, items=self.alternatives.contents.items)

    def _joints(self, joint: int | None, step: int | None) -> Set[int]:
        return joints_of_use(self.facts, joint, step)

    def _facts(self, joints: Set[int], at: Callable[[FitFacts], FitFacts]) -> PlanFacts:
        """What is at some joints alone, each position as it is tried."""
        contents = self.alternatives.contents
        return replace(
            self.facts,
            contents=replace(
                contents,
                fits=tuple(at(fit) for fit in contents.fits if fit.joint in joints),
                uses=tuple(
                    use for use in contents.uses if joints & self._joints(use.joint, use.step)
                ),
            ),
        )

    def _judged(self, facts: PlanFacts, brought: tuple[Brought, ...]) -> Draft:
        checks = check_rubbers(facts, self._stands, self.known, brought)
        return judge_plan(facts, self._stands, checks)


@dataclass(frozen=True, slots=True)
class Trial:
    """What a candidate touches where it was tried, and what is in doubt of it there."""

    contacts: list[Contact]
    doubts: list[Doubt]


def _all(check: RubberCheck) -> Iterator[Contact]:
    yield from check.contacts
    yield from check.may_come


def _graded(tried: Iterable[tuple[str, Trial]]) -> Instead:
    """Those that suit everywhere for certain, and those that do by opinions of medium certainty."""
    certain, perhaps = list[str](), list[str]()
    for code, trial in tried:
        found = trial.contacts
        if not found or not all(map(_may_do, found)) or any(map(_against, trial.doubts)):
            continue
        suits = all(contact.state is ContactState.SUITS for contact in found)
        (certain if suits else perhaps).append(code)
    return Instead(tuple(certain), tuple(perhaps))


def _against(doubt: Doubt) -> bool:
    """Whether a doubt speaks against what was tried; contacts are graded by themselves."""
    return doubt.aspect is not Aspect.VARIANT and not isinstance(doubt.because.code, ContactPlace)


def _may_do(contact: Contact) -> bool:
    """Whether it suits, or is rated suitable with medium certainty."""
    return contact.state is ContactState.SUITS or (
        contact.state is ContactState.ASK
        and (contact.rating, contact.certainty) == (Rating.SUITABLE, Certainty.MEDIUM)
    )
