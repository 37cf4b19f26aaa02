"""Needs: from opened joints to the parts, consumables and fasteners they ask for."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace

from kitting.calc.planning.access import Access
from kitting.calc.planning.consumption import Measured, one_session
from kitting.calc.planning.refits import Refits
from kitting.calc.planning.renewal import (
    RuleStatement,
    Ruling,
    Situation,
    SituationRule,
    kind_says,
    ruling,
    strictest,
)
from kitting.facts.conditions import CarFacts, Condition, hold
from kitting.facts.plan_reasons import AmountReason
from kitting.facts.reasons import Reason, because
from kitting.facts.words import FastenerAccess, Rule, Source, ThreadedInto


@dataclass(frozen=True, slots=True)
class JointFacts:
    """A joint: what decides rules is its system and the fluids it holds back.

    `near` is what a lubricant may spoil there; `temperature` the hottest in °C with its source;
    `media` is what each fluid is on this car (None: not known).
    """

    key: int
    code: str
    name: str
    unit: int
    system: str
    fluids: tuple[str, ...]
    near: tuple[str, ...] = ()
    temperature: tuple[int, str] | None = None
    media: tuple[str | None, ...] = ()

    @property
    def situations(self) -> tuple[Situation, ...]:
        """What decides the rules of a kind: each fluid by itself; without any, the system."""
        media = self.media or (None,) * len(self.fluids)
        touched = zip(self.fluids, media, strict=True)
        found = (Situation(self.system, fluid, medium) for fluid, medium in touched)
        return tuple(found) or (Situation(self.system),)


@dataclass(frozen=True, slots=True)
class Reach:
    """How a fastener is got at: thousandths of a mm; `into` is what its thread is cut into.

    `engagement` is how far it is engaged there, None where that is not stated.

    `access` is open, side (something is in the way of a socket) or angled (no straight way).
    """

    recess: int = 0
    protrusion: int = 0
    access: FastenerAccess = FastenerAccess.OPEN
    into: ThreadedInto | None = None
    engagement: int | None = None


@dataclass(frozen=True, slots=True)
class LubricantSource:
    """Who names the product that a position is assembled with, and where it is written."""

    source: Source
    reference: str


@dataclass(frozen=True, slots=True)
class CarLubricant:
    """What the maker of the car names for a fluid (by code), where a position names another."""

    item: int
    fluid: str
    reference: str


@dataclass(frozen=True, slots=True)
class FitFacts:
    """One item in one position; quantity in thousandths of the item's unit.

    `conditions` say which cars have it; `fluids` is what it touches, where that is not everything
    that the joint holds back. `car_lubricant` is another product than its own, which nobody asked
    for here. `cars_own` says that its lubricant is what the maker of the car names.
    """

    key: int
    joint: int
    position: str
    item: int
    quantity: int
    conditions: tuple[Condition, ...] = ()
    end: str | None = None
    group: str | None = None
    refit_limit: int | None = None
    reach: Reach = Reach()
    dry: bool = False
    lubricant: int | None = None
    lubricant_amount: int = 0
    lubricant_source: LubricantSource | None = None
    car_lubricant: CarLubricant | None = None
    fluids: tuple[str, ...] = ()
    stated: tuple[RuleStatement, ...] = ()
    cars_own: bool = False

    @property
    def lubricant_sourced(self) -> bool:
        """Whether it is stated who names its lubricant, and where that is written."""
        return self.cars_own or self.lubricant_source is not None


@dataclass(frozen=True, slots=True)
class UseFacts:
    """A consumable of a joint or a step, already measured per opening (or per step).

    `open_length` is how much bead can be laid while its nozzle is open, in thousandths of a
    millimetre (None: not known).
    """

    key: int
    item: int
    measured: Measured
    open_length: int | None = None
    joint: int | None = None
    step: int | None = None
    conditions: tuple[Condition, ...] = ()


@dataclass(frozen=True, slots=True)
class PartNeed:
    """What one position asks for in this plan.

    `worn_out` is the amount beside it of which new ones go in for certain, since it has reached its
    limit on going back at another opening.
    """

    fit: FitFacts
    ruling: Ruling
    quantity: int
    opened: int
    jobs: tuple[str, ...]
    worn_out: int = 0


@dataclass(frozen=True, slots=True)
class UseNeed:
    """What one use asks for in this plan; `fit` is set for a lubricant of a position.

    `bead` is the length of a bead of one opening, in thousandths of a millimetre.
    """

    item: int
    quantity: int
    how: Reason
    jobs: tuple[str, ...]
    opened: int
    joint: int | None
    step: int | None
    fit: FitFacts | None = None
    bead: int | None = None


def judge(
    fit: FitFacts,
    joint: JointFacts,
    kind_rules: Iterable[SituationRule],
    item_rules: Iterable[RuleStatement],
    refits: int,
) -> Ruling:
    """The ruling on one position: kind rules for the situation, leaflet, and the fit's own."""
    rules, stated = tuple(kind_rules), [*fit.stated, *item_rules]
    history = Refits(refits, fit.refit_limit)
    return strictest(
        ruling(kind_says(rules, situation), stated, history) for situation in joint.situations
    )


def part_needs(
    access: Access,
    fits: Iterable[FitFacts],
    rulings: Mapping[int, Ruling],
    car: CarFacts,
) -> dict[int, PartNeed]:
    """What every position of the opened joints asks for, by fit key.

    A part that never goes back is needed at each opening; one that may go back is needed once,
    and anew for each opening at which it has reached its limit.
    Fits whose conditions are not certain are left out: nothing is ordered past an open variant.
    """
    needs = {}
    for fit in fits:
        opened = access.opened.get(fit.joint, 0)
        if opened and hold(fit.conditions, car):
            ruling = rulings[fit.key].over(opened)
            renewed = fit.quantity * ruling.renewals(opened)
            never = ruling.rule == Rule.RENEW
            needs[fit.key] = PartNeed(
                fit=fit,
                ruling=ruling,
                quantity=renewed if never else fit.quantity,
                opened=opened,
                jobs=access.jobs_of_joint(fit.joint),
                worn_out=0 if never else renewed,
            )
    return needs


def use_needs(
    access: Access,
    uses: Iterable[UseFacts],
    parts: Iterable[PartNeed],
    car: CarFacts,
) -> dict[tuple[str, int], UseNeed]:
    """Consumables: of joints per opening, of steps once, lubricants per position and opening.

    Keyed by ("use", use key) and ("lubricant", fit key).
    """
    needs: dict[tuple[str, int], UseNeed] = {}
    for use in _in_sessions([use for use in uses if hold(use.conditions, car)]):
        if use.joint is not None:
            times, jobs = access.opened.get(use.joint, 0), access.jobs_of_joint(use.joint)
        else:
            # What was begun is asked for by no job, and has to be put on again all the same.
            jobs = access.asked_by.get(use.step or 0, ())
            times = 1 if use.step in access.asked_by else 0
        if times:
            how = use.measured.how
            if times > 1:
                how = because(AmountReason.SEVERAL_TIMES, how=how, times=times)
            needs["use", use.key] = UseNeed(
                item=use.item,
                quantity=use.measured.amount * times,
                how=how,
                jobs=jobs,
                opened=times,
                joint=use.joint,
                step=use.step,
                bead=use.measured.bead,
            )
    for part in parts:
        fit = part.fit
        if fit.lubricant is not None:
            pieces = fit.quantity // 1000 * part.opened
            needs["lubricant", fit.key] = UseNeed(
                item=fit.lubricant,
                quantity=fit.lubricant_amount * pieces,
                how=because(AmountReason.LUBRICANT, pieces=pieces, position=fit.position),
                jobs=part.jobs,
                opened=part.opened,
                joint=fit.joint,
                step=None,
                fit=fit,
            )
    return needs


def _in_sessions(uses: Sequence[UseFacts]) -> list[UseFacts]:
    """The uses, the beads of a product at one joint or step laid one after the other."""
    beads: dict[tuple[int, int | None, int | None], list[UseFacts]] = {}
    for use in uses:
        if use.measured.bead is not None:
            beads.setdefault((use.item, use.joint, use.step), []).append(use)
    laid = {
        use.key: measured
        for here in beads.values()
        for use, measured in zip(
            here,
            one_session([use.measured for use in here], here[0].open_length),
            strict=True,
        )
    }
    return [replace(use, measured=laid.get(use.key, use.measured)) for use in uses]
