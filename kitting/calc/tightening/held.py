"""What a fastener's figures are checked by."""

from __future__ import annotations

from dataclasses import dataclass

from kitting.facts.fastener_kinds import BORES
from kitting.facts.soft_threads import IN_STEEL, WEAKEST
from kitting.facts.threads import GRADES, PROPERTY_CLASSES, STAINLESS, Thread, parse_thread
from kitting.facts.words import ThreadedInto

_ORDER = tuple(PROPERTY_CLASSES)
_YIELDING = {
    name: found.yielding for name, found in (PROPERTY_CLASSES | STAINLESS | GRADES).items()
}
STRONGEST = _ORDER[-1]


@dataclass(frozen=True, slots=True)
class Held:
    """What a fastener's figures are checked by: its thread and class, and what its kind allows.

    `weakest` and `strongest` are the property classes that its kind is made in (None: any); one
    that is not `ordinary` has figures of its own. `into` is what its thread is cut into and
    `engagement` how far it is engaged there in thousandths of a mm (None: not stated), `kind` the
    code of its kind.
    """

    thread: str | None
    property_class: str | None
    weakest: str | None = None
    strongest: str | None = None
    ordinary: bool = True
    into: ThreadedInto | None = None
    kind: str | None = None
    engagement: int | None = None

    @property
    def classes(self) -> tuple[str, str]:
        """The weakest and the strongest class that it may be of, by their yield points.

        Of a unified thread it may be of any grade too: those are no classes of its kind.
        """
        if self.property_class is not None:
            return self.property_class, self.property_class
        return self._made_in

    @property
    def of_its_kind(self) -> bool:
        """Whether its class is none, or lies between those that its kind is made in."""
        if self.property_class is None:
            return True
        weakest, own, strongest = (
            _YIELDING[one] for one in (self._made_in[0], self.property_class, self._made_in[1])
        )
        return weakest <= own <= strongest

    @property
    def _made_in(self) -> tuple[str, str]:
        first = _ORDER.index(self.weakest or _ORDER[0])
        last = _ORDER.index(self.strongest or _ORDER[-1])
        ranked = list(_ORDER[first : last + 1])
        if self.weakest is self.strongest is None:
            ranked += STAINLESS
        if self.thread is not None and parse_thread(self.thread).inch is not None:
            ranked += GRADES
        ranked.sort(key=_YIELDING.__getitem__)
        return ranked[0], ranked[-1]

    @property
    def may_go_into(self) -> ThreadedInto:
        """What its thread is cut into; where that is not stated, the weakest metal.

        Nobody is taken to thread into plastic without saying so (common practice, no source).
        """
        if self.into is not None:
            return self.into
        return ThreadedInto.STEEL if self.kind in IN_STEEL else WEAKEST

    def bore(self, size: Thread) -> float:
        """The bore in mm that is reckoned with; 0 for what is solid."""
        return BORES.get(self.kind or "", 0) * float(size.diameter)
