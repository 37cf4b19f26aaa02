"""What touches each rubber of a plan: fluids, the lubricant, what is used there, the heat.

A product that is what a fluid of its joint is on this car is that fluid, and touches what that
touches. Any other comes to every rubber of the joint at which it is used or put on anything, unless
its place is stated: the positions touch different fluids, or it is named for one rubber and the
other names its own (then each has a bag of its own). One that a step uses is
at its place where all joints of the step hold the same fluids; elsewhere nobody says where it goes.
What a packet brings comes to the joints that the rest of it goes to, as what is used there does.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterable, Iterator, Set
from dataclasses import dataclass, replace

from kitting.calc.planning.needs import FitFacts, JointFacts, UseFacts
from kitting.calc.rubber.compatibility import Lubricated, Touching, Used
from kitting.facts.conditions import CarFacts, OptionChosen
from kitting.facts.rubber_media import STAYING_PUT
from kitting.facts.words import ItemFamily, KindRubber, NeedRule
from kitting.services.planning.facts import Contents, ItemFacts, PlanFacts
from kitting.services.planning.stand_ins import StandIn, StandIns


def touches_rubber(item: ItemFacts) -> bool:
    """Whether a product comes to the rubber where it is used: by its medium, or by its kind.

    A consumable of a kind that says nothing does, unless it is known to stay where it is put: what
    locks threads runs off them, and a bead is squeezed out.
    """
    kind = item.kind
    if item.medium is not None or kind.rubber is KindRubber.TOUCHES:
        return True
    silent = kind.rubber is None and kind.family is ItemFamily.CONSUMABLE
    return silent and kind.code not in STAYING_PUT


@dataclass(frozen=True, slots=True)
class Brought:
    """A product that comes in a packet to some joints, where nothing says what it is for.

    `may_come` says that the packet comes only if old stock is not enough.
    """

    product: ItemFacts
    packet: str
    joints: Set[int]
    may_come: bool = False


def rubbers_in(contents: Contents, fit: FitFacts, item: ItemFacts) -> tuple[ItemFacts, ...]:
    """The rubber that an item at a position is or, a packet, brings there.

    With those of which it is not stated. What a packet brings for another position of the joint is
    judged there.
    """
    elsewhere = {other.item for other in contents.fits if other.joint == fit.joint} - {fit.item}
    inside = tuple(
        content
        for content in _inside(contents, item)
        if content.key not in elsewhere and content.key != item.key
    )
    own = item.elastomer is not None or (item.kind.of_rubber and not inside)
    return (item, *inside) if own else inside


def _inside(contents: Contents, packet: ItemFacts) -> Iterator[ItemFacts]:
    """The rubber in a packet, also in packets inside it."""
    for content in unpacked(contents, packet):
        packed = content.elastomer is None and content.key in contents.packets
        if content.elastomer is not None or (content.kind.of_rubber and not packed):
            yield content


def unpacked(contents: Contents, packet: ItemFacts) -> Iterator[ItemFacts]:
    """Everything in a packet, also in packets inside it, and those packets."""
    ahead, seen = [packet.key], {packet.key}
    while ahead:
        for key in sorted(contents.packets.get(ahead.pop(), ())):
            content = contents.items.get(key)
            if content is None or key in seen:
                continue
            seen.add(key)
            ahead.append(key)
            yield content


def joints_of_use(facts: PlanFacts, joint: int | None, step: int | None) -> Set[int]:
    """The joints that what is used at a joint or a step may come to.

    A step that opens none works on what the steps opened that it needs.
    """
    if joint is not None:
        return {joint}
    steps = {step} if step is not None else set()
    opened = _opened(facts, steps)
    while steps and not opened:
        steps = {need for one in steps for need in facts.work.nodes[one].needs}
        opened = _opened(facts, steps)
    return opened


def _opened(facts: PlanFacts, steps: Collection[int | None]) -> Set[int]:
    return {
        joint for joint, by in facts.access.opened_by.items() if any(step in steps for step in by)
    }


_Come = Callable[[ItemFacts], tuple[StandIn, ...]]


@dataclass(frozen=True, slots=True)
class Places:
    """What touches what in a plan, on a car as far as it is settled."""

    facts: PlanFacts
    stands: StandIns
    known: CarFacts
    brought: tuple[Brought, ...] = ()

    def touching(self, fit: FitFacts, item: ItemFacts) -> Touching:
        """What touches an item of a stated rubber at a position."""
        contents = self.facts.contents
        joint = contents.joints[fit.joint]
        fluids = (contents.fluids[code] for code in fit.fluids or joint.fluids)
        return Touching(
            elastomer=item.elastomer or "",
            fluids=tuple((fluid.name, fluid.medium) for fluid in fluids),
            lubricants=self._lubricants(fit, self._fetched),
            used=tuple(dict.fromkeys((*self._used(fit, self._fetched), *self._brought(fit)))),
            goes_dry=(item.kind.key, item.elastomer or "") in contents.goes_dry,
            temperature=joint.temperature,
            stated=contents.media.get(item.key, ()),
            system=joint.system,
        )

    def may_touch(self, fit: FitFacts, touching: Touching) -> Touching:
        """What may come to the rubber instead of a product whose old stock is used up first."""
        return replace(
            touching,
            fluids=(),
            temperature=None,
            lubricants=self._lubricants(fit, self.stands.may_come),
            used=tuple(dict.fromkeys(self._used(fit, self.stands.may_come))),
        )

    def _fetched(self, product: ItemFacts) -> tuple[StandIn, ...]:
        return self.stands.of(product, NeedRule.USE)

    def _lubricants(self, fit: FitFacts, come: _Come) -> tuple[Lubricated, ...]:
        if fit.lubricant is None:
            return ()
        asked, source = self.facts.contents.items[fit.lubricant], fit.lubricant_source
        found = []
        for product in (one.item for one in come(asked)):
            # Who names one product for a position has not named what replaces it.
            named = source if product.key == asked.key else None
            lubricant = Lubricated(
                item=product.code,
                medium=product.medium,
                source=named.source if named else None,
                reference=named.reference if named else None,
            )
            found.append(lubricant)
        return tuple(found)

    def _used(self, fit: FitFacts, come: _Come) -> Iterator[Used]:
        for use in self.facts.contents.uses:
            places = joints_of_use(self.facts, use.joint, use.step)
            if fit.joint in places and may_meet(fit, use, self.known):
                placed = self._placed(use, [self.facts.contents.joints[key] for key in places])
                for one in self._come(use.item, places, come):
                    yield replace(one, placed=placed)
        for other in self.facts.contents.fits:
            if other.lubricant in (None, fit.lubricant) or not self._together(fit, other):
                continue
            if may_meet(fit, other, self.known):
                for used in self._come(other.lubricant or 0, {fit.joint}, come):
                    yield replace(used, for_another=self._is_rubber(other))

    def _together(self, fit: FitFacts, other: FitFacts) -> bool:
        """Whether what is put on one position comes to the other: they touch a fluid alike.

        Without stated fluids of their own all positions of a joint lie together.
        """
        own = fit.dry or fit.lubricant is not None
        if fit.joint != other.joint or (own and self._is_rubber(other)):
            return False
        every = self.facts.contents.joints[fit.joint].fluids
        here, there = fit.fluids or every, other.fluids or every
        return not (here and there) or not set(here).isdisjoint(there)

    def _is_rubber(self, fit: FitFacts) -> bool:
        contents = self.facts.contents
        return bool(rubbers_in(contents, fit, contents.items[fit.item]))

    def _come(self, item: int, places: Set[int], come: _Come) -> Iterator[Used]:
        joints = [self.facts.contents.joints[key] for key in sorted(places)]
        for product in (one.item for one in come(self.facts.contents.items[item])):
            if touches_rubber(product) and not is_a_fluid_of(product, joints):
                yield Used(product.code, product.medium)

    def _brought(self, fit: FitFacts) -> Iterator[Used]:
        joint = self.facts.contents.joints[fit.joint]
        for one in self.brought:
            if fit.joint in one.joints and not is_a_fluid_of(one.product, [joint]):
                product = one.product
                yield Used(product.code, product.medium, packet=one.packet, may_come=one.may_come)

    def _placed(self, use: UseFacts, joints: Collection[JointFacts]) -> bool:
        if use.joint is not None:
            return True
        opens = any(use.step in by for by in self.facts.access.opened_by.values())
        return opens and len({frozenset(joint.fluids) for joint in joints}) == 1


def is_a_fluid_of(product: ItemFacts, joints: Iterable[JointFacts]) -> bool:
    """Whether it is what a fluid of the joints is on this car."""
    held = {medium for joint in joints for medium in joint.media}
    return product.medium is not None and product.medium in held


def may_meet(fit: FitFacts, use: UseFacts | FitFacts, known: CarFacts) -> bool:
    """Whether a car may have both what is at a position and what is used or fitted there."""
    car = known
    for condition in fit.conditions:
        if condition.ask(car).holds is False:
            return False
        if isinstance(condition, OptionChosen):
            car = car.settling(condition.split, condition.option)
    return all(condition.ask(car).holds is not False for condition in use.conditions)
