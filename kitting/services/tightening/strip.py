"""The strip sheet: step by step what is opened, what comes off, what runs out, what to keep."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import partial

from sqlalchemy.orm import Session

from kitting.calc.planning.needs import FitFacts
from kitting.facts.reasons import Reason
from kitting.facts.strip_down import PORT_CLOSERS
from kitting.facts.threads import parse_thread
from kitting.facts.units import Quantity
from kitting.facts.verdicts import Aspect, Doubt, Verdict, worst_first
from kitting.facts.words import PatternShape, Rule
from kitting.services.kit.bags import bags_of
from kitting.services.kit.caution_places import caution_codes
from kitting.services.kit.left_off import jobs_of, kit_doubts
from kitting.services.kit.old_seals import STAYS_BEHIND, OldSeals, seals_by_joint
from kitting.services.kit.ring_labels import with_differences
from kitting.services.planning.draft import draft
from kitting.services.planning.judged import Draft, JudgedPart
from kitting.services.planning.request import PlanRequest
from kitting.services.planning.view import plan_view
from kitting.services.tightening.drawing import drawing
from kitting.services.tightening.layout import Layout, read_layout
from kitting.services.tightening.strip_fluids import FluidsOut
from kitting.services.tightening.strip_photos import photos_of
from kitting.services.tools.fasteners import Fastener, fasteners
from kitting.views.kit import Bag
from kitting.views.plan import CautionView, PlanView, StepView
from kitting.views.strip import (
    BagTagView,
    ComesOffView,
    StripJointView,
    StripStepView,
    StripView,
    UndoView,
)

# What has to be known before anything is taken apart; the rest is of what goes in.
_BEFORE = frozenset({Verdict.NO, Verdict.STOPPED})
_BEFORE_OF = frozenset(
    {Aspect.VARIANT, Aspect.CATALOGUE, Aspect.LICENCE, Aspect.FINDING, Aspect.HEAD}
)


@dataclass(frozen=True, slots=True)
class _Car:
    """A car about to be stripped: what was judged, what is told of it, what sits in each joint."""

    facts: Draft
    plan: PlanView
    parts: Mapping[int, Sequence[JudgedPart]]
    fitted: Mapping[str, Sequence[Fastener]]
    layout: Layout
    bags: Mapping[str, Sequence[Bag]]
    seals: Mapping[str, OldSeals]
    cautions: Mapping[str, CautionView]


def strip(session: Session, request: PlanRequest) -> StripView:
    """What comes off, step by step in the order of stripping down, whatever may go in again.

    Raises UnknownNameError for names that the catalogue lacks.
    """
    facts = draft(session, request)
    plan = plan_view(facts)
    parts: dict[int, list[JudgedPart]] = defaultdict(list)
    for part in facts.every_part:
        parts[part.fit.joint].append(part)
    fitted: dict[str, list[Fastener]] = defaultdict(list)
    for fastener in fasteners(facts):
        fitted[fastener.joint].append(fastener)
    bags: dict[str, list[Bag]] = defaultdict(list)
    for bag in with_differences(tuple(bags_of(plan))):
        bags[bag.joint].append(bag)
    car = _Car(
        facts=facts,
        plan=plan,
        parts=parts,
        fitted=fitted,
        layout=read_layout(session, facts.access.opened, [one.fit.key for one in facts.parts]),
        bags=bags,
        seals=seals_by_joint(plan),
        cautions={caution.code: caution for caution in plan.cautions},
    )
    doubts = kit_doubts(plan)
    before = tuple(doubt for doubt in doubts if _is_before(doubt))
    return StripView(
        reference=plan.reference,
        on=plan.on,
        vehicle=plan.vehicle.whole_name,
        vehicle_shortened=plan.vehicle.public_name,
        jobs=jobs_of(plan),
        steps=tuple(_steps(car)),
        doubts=before,
        other_doubts=tuple(doubt for doubt in doubts if doubt not in before),
        cautions=plan.cautions,
    )


def _is_before(doubt: Doubt) -> bool:
    return doubt.verdict in _BEFORE or doubt.aspect in _BEFORE_OF


def _steps(car: _Car) -> Iterator[StripStepView]:
    fluids = FluidsOut(car.facts)
    opened: dict[int, int] = {}  # the step that certainly opened each joint first
    told = zip(car.facts.access.order, car.plan.steps, strict=True)
    for number, (key, step) in enumerate(told, 1):
        opens = [one.joint for one in car.facts.work.nodes[key].opens]
        here = [joint for joint in opens if joint in car.facts.access.opened]
        fresh = [joint for joint in here if joint not in opened]
        codes = [car.facts.names.joints[joint] for joint in here]
        yield StripStepView(
            number=number,
            code=step.code,
            name=step.name,
            asked_by=step.asked_by,
            licences=tuple(dict.fromkeys(_licences(car, key, here))),
            tools=_tools(car, key, fresh),
            cautions=tuple(_cautions(car, step, codes, fresh)),
            joints=tuple(_joint(car, joint, opened.get(joint)) for joint in here),
            fluids=tuple(fluids.at(key, here)),
            open_ends=any(map(partial(_open_ends, car), here)),
            closers=_closers(car, key, fresh),
            photos=tuple(photo for joint in fresh for photo in _photos(car, joint)),
            waits_for=step.stopped_by,
            doubts=worst_first(
                doubt for joint in car.plan.joints if joint.code in codes for doubt in joint.doubts
            ),
        )
        # What a step that may not be done opens is told again where it is opened for certain.
        if not step.stopped_by:
            opened |= dict.fromkeys(fresh, key)


def _photos(car: _Car, joint: int) -> Iterator[Reason]:
    code = car.facts.names.joints[joint]
    return photos_of(car.plan, code, car.parts.get(joint, ()), car.bags.get(code, ()))


def _licences(car: _Car, step: int, joints: Iterable[int]) -> Iterator[str]:
    own, contents = car.facts.work.steps[step].licence, car.facts.contents
    if own is not None:
        yield own.name
    for joint in joints:
        system = contents.systems[contents.joints[joint].system]
        yield from (licence.name for licence in contents.system_licences.get(system.key, ()))


def _tools(car: _Car, step: int, joints: Iterable[int]) -> tuple[str, ...]:
    """What is asked for by the step, and by the kinds of what comes off."""
    contents = car.facts.contents
    kinds = [part.asked.kind.key for joint in joints for part in car.parts.get(joint, ())]
    found = [*contents.step_tools.get(step, ())]
    found += [tool for kind in kinds for tool in contents.kind_tools.get(kind, ())]
    return tuple(dict.fromkeys(found))


def _cautions(
    car: _Car, step: StepView, joints: Sequence[str], fresh: Iterable[int]
) -> Iterator[CautionView]:
    """Those of the step, of its joints with what they hold, and of what comes off."""
    carried = car.facts.contents.cautions
    here = (joint for joint in car.plan.joints if joint.code in joints)
    codes = [*caution_codes([step], here)]
    off = [part.asked for joint in fresh for part in car.parts.get(joint, ())]
    codes += carried.of("kind", [item.kind.key for item in off])
    codes += carried.of("item", [item.key for item in off])
    for code in dict.fromkeys(codes):
        text = carried.texts[code]
        known = car.cautions.get(code)
        yield known or CautionView(code, text.title, text.text, (), text.word)


def _closers(car: _Car, step: int, joints: Iterable[int]) -> int | None:
    """How many caps and plugs are stated for the open ends of a step, once each."""
    here = frozenset(joints)
    found = [
        use.quantity // (1 if use.joint is None else max(use.opened, 1))
        for use in car.facts.every_use
        if use.asked.kind.code in PORT_CLOSERS and (use.step == step or use.joint in here)
    ]
    return sum(found) // 1000 if found else None


def _open_ends(car: _Car, joint: int) -> bool:
    """Whether something may come in or out of a joint: it holds back something, or is sealed."""
    sealed = car.facts.names.joints[joint] in car.seals
    return sealed or bool(car.facts.contents.joints[joint].fluids)


def _joint(car: _Car, key: int, before: int | None) -> StripJointView:
    names = car.facts.names
    code = names.joints[key]
    seals = car.seals.get(code, OldSeals(0, ()))
    off = _alike(_off(car, part) for part in car.parts.get(key, ()))
    return StripJointView(
        joint=code,
        name=car.facts.contents.joints[key].name,
        bags=tuple(BagTagView(bag.number, bag.code) for bag in car.bags.get(code, ())),
        off=() if before is not None else tuple(off),
        seals=0 if before is not None else seals.expected,
        undo=None if before is not None else _undo(car, code),
        opened=car.facts.access.opened[key],
        before=None if before is None else names.steps[before],
        seals_depend=any(
            part.options and part.asked.kind.family in STAYS_BEHIND
            for part in car.parts.get(key, ())
        ),
        holds_unknown=bool(seals.expected) and not car.facts.contents.joints[key].fluids,
    )


def _off(car: _Car, part: JudgedPart) -> ComesOffView:
    """What sits in a position now: what the joint asks for, not what replaces it."""
    item, fit = part.asked, part.fit
    new_first = part.ruling.new_first
    return ComesOffView(
        positions=(fit.position,),
        item=item.code,
        name=item.name,
        amount=Quantity(fit.quantity, item.unit),
        rule=Rule.RENEW if new_first else part.ruling.rule,
        thread=item.thread,
        length=None if item.length is None else item.length / 1000,
        left_hand=_left_hand(part, fit, car.facts),
        only_with=part.options,
    )


def _alike(off: Iterable[ComesOffView]) -> Iterator[ComesOffView]:
    """Positions one after the other that differ in nothing else, as one."""
    last: ComesOffView | None = None
    for one in off:
        if last is not None and _but_place(last) == _but_place(one):
            both = Quantity(last.amount.thousandths + one.amount.thousandths, one.amount.unit)
            last = replace(one, positions=(*last.positions, *one.positions), amount=both)
            continue
        if last is not None:
            yield last
        last = one
    if last is not None:
        yield last


def _but_place(off: ComesOffView) -> ComesOffView:
    return replace(off, positions=(), amount=Quantity(0, off.amount.unit))


def _left_hand(part: JudgedPart, fit: FitFacts, facts: Draft) -> bool | None:
    """Whether it is undone clockwise; None where it has a thread and nobody states which."""
    item = part.asked
    if item.thread is not None:
        return parse_thread(item.thread).left_hand
    turned = item.kind.threaded or fit.key in facts.contents.tightenings
    return None if turned else False


def _undo(car: _Car, joint: str) -> UndoView | None:
    here = car.fitted.get(joint, ())
    shown = drawing(here, car.layout)
    if shown is not None and shown.order:
        return UndoView(shown.order[::-1], shown.shape)
    words = tuple(dict.fromkeys(one.pattern for one in here if one.pattern))
    return UndoView((), PatternShape.MAKER, words) if words else None
