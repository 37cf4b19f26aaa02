"""The fasteners of a draft, as tools and tightening see them: the one place that opens a draft."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from kitting.calc.planning.needs import Reach
from kitting.facts.heads import Head
from kitting.facts.names import natural_key
from kitting.facts.reasons import Reason
from kitting.facts.stages import Stage
from kitting.facts.threads import parse_thread
from kitting.facts.words import Rule, ThreadState
from kitting.services.planning.facts import ItemFacts
from kitting.services.planning.general_tools import general_tools
from kitting.services.planning.judged import Draft, JudgedPart


@dataclass(frozen=True, slots=True)
class FastenerKind:
    """A kind of fastener; whether it is threaded, and whether a general figure may stand in."""

    name: str
    threaded: bool
    general_torque: bool


@dataclass(frozen=True, slots=True)
class Undone:
    """The fastener that is undone: the one that the joint asks for."""

    head: Head | None
    thread: str | None
    property_class: str | None


@dataclass(frozen=True, slots=True)
class Fastener:
    """What is fitted at one position, and how it is tightened.

    `joint` and `system` are called as the plan calls them; `length` is in thousandths of a mm.
    `undone` is what comes out, `head` that of what is tightened.
    `tightening` says whether the catalogue describes its tightening; no stages means that no
    figure is known. `opened` is how often its joint is opened and tightened again; `renewed` how
    many new ones go in at another opening beside those that are looked at, at the first if
    `new_first`. `remarks` is what is odd about the figures.
    """

    fit: int
    joint_key: int
    joint: str
    system: str
    position: str
    item: str
    name: str
    kind: FastenerKind
    rule: Rule
    count: int
    jobs: tuple[str, ...]
    head: Head | None
    undone: Undone
    thread: str | None
    length: int | None
    property_class: str | None
    reach: Reach
    tightening: bool
    thread_state: ThreadState
    stages: tuple[Stage, ...]
    pattern: str | None
    source: str | None
    variants: tuple[str, ...] = ()
    opened: int = 1
    renewed: int = 0
    new_first: bool = False
    remarks: tuple[Reason, ...] = ()
    stage_order: str | None = None

    @property
    def place(self) -> str:
        """The joint and the position."""
        return f"{self.joint}: {self.position}"

    @property
    def left_hand(self) -> bool | None:
        """Whether its thread is left-hand; None where no thread is stated."""
        return None if self.thread is None else parse_thread(self.thread).left_hand

    @property
    def tightened(self) -> bool:
        """Whether it has a place on a tightening sheet."""
        return self.kind.threaded or self.tightening


@dataclass(frozen=True, slots=True)
class GeneralToolNeed:
    """A general tool that steps or kinds ask for."""

    name: str
    places: tuple[str, ...]
    jobs: tuple[str, ...]


def fasteners(facts: Draft, stopped: bool = False) -> Iterator[Fastener]:
    """What is fitted at the positions of a draft; `stopped` adds those of stopped jobs."""
    for part in (*(facts.stopped_parts if stopped else ()), *facts.parts):
        yield _fastener(facts, part)


def _fastener(facts: Draft, part: JudgedPart) -> Fastener:
    fit, item, kind = part.fit, part.fitted, part.fitted.kind
    known = facts.tightening(part)
    return Fastener(
        fit=fit.key,
        joint_key=fit.joint,
        joint=facts.names.joints[fit.joint],
        system=facts.contents.joints[fit.joint].system,
        position=fit.position,
        item=item.code,
        name=item.name,
        kind=FastenerKind(kind.name, kind.threaded, kind.general_torque),
        rule=part.ruling.rule,
        count=fit.quantity // 1000,
        jobs=part.jobs,
        head=_head(item),
        undone=Undone(_head(part.asked), part.asked.thread, part.asked.property_class),
        thread=item.thread,
        length=item.length,
        property_class=item.property_class,
        reach=fit.reach,
        tightening=known is not None,
        thread_state=known.thread_state if known else ThreadState.UNKNOWN,
        stages=known.stages if known else (),
        pattern=known.pattern if known else None,
        stage_order=known.stage_order if known else None,
        source=facts.source_of(fit.joint, known),
        variants=part.variants,
        opened=part.opened,
        renewed=part.worn_out // 1000,
        new_first=part.ruling.new_first,
        remarks=facts.figure_remarks(part),
    )


def _head(item: ItemFacts) -> Head | None:
    return Head(item.head, item.head_size or "") if item.head else None


def general_tool_needs(facts: Draft) -> list[GeneralToolNeed]:
    """General tools of steps and kinds, by name, each once with its places and jobs."""
    places: dict[str, list[str]] = {}
    jobs: dict[str, set[str]] = {}
    for ask in general_tools(facts):
        places.setdefault(ask.tool, []).append(ask.place)
        jobs.setdefault(ask.tool, set()).update(ask.jobs)
    return [
        GeneralToolNeed(tool, tuple(dict.fromkeys(places[tool])), tuple(sorted(jobs[tool])))
        for tool in sorted(places, key=natural_key)
    ]
