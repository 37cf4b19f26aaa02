"""The refit sheet in words: what goes in where, old or new, what is short, what is only closed."""

from __future__ import annotations

from collections.abc import Container, Iterator, Mapping

from kitting.facts.words import NeedRule
from kitting.views.kit import BagLine, ContentView, EndLabel
from kitting.views.refit import RefitBagView, RefitView, StepUseView
from kitting.wording.kit import (
    amount_text,
    differs_text,
    passed_text,
    shortage_text,
    with_kept,
)
from kitting.wording.language import N_, _, n_
from kitting.wording.tightening import amount_text as amount_used_text
from kitting.wording.verdicts import doubt_text

OLD_OR_NEW: Mapping[NeedRule, str] = {
    NeedRule.RENEW: N_("NEW"),
    NeedRule.INSPECT: N_("AFTER A LOOK"),
    NeedRule.KEEP: N_("OLD"),
    NeedRule.USE: N_("USED UP"),
}


def bag_text(view: RefitBagView) -> str:
    """ "BAG 3", or that nothing goes in."""
    return _("NO BAG") if view.bag is None else _("BAG {number}", number=view.bag)


def joint_text(view: RefitBagView) -> str:
    """The joint by name and code."""
    if view.joint and view.joint != view.joint_name:
        return f"{view.joint_name} ({view.joint})"
    return view.joint_name


def notes_of(view: RefitBagView) -> Iterator[str]:
    """What is said below the name of a joint: which of its bags, tray, how often it is closed."""
    if view.parts_of_joint > 1:
        yield _(
            "bag {part} of {parts} of this joint: rings that could be swapped lie apart",
            part=view.part,
            parts=view.parts_of_joint,
        )
    if view.tray is not None:
        yield _("tray {number}", number=view.tray)
    if view.times > 1:
        yield n_("closed {count} time", "closed {count} times", view.times)


def nothing_text(view: RefitBagView) -> str | None:
    """That nothing goes in at a joint, or nothing but its fasteners; None where something does.

    Of what is left off nobody can say that.
    """
    if view.left_off or view.ends or view.seals or view.uses or view.parts or view.step_uses:
        return None
    if view.tightening is not None:
        return _("Nothing but its fasteners goes in at {joint}.", joint=view.joint_name)
    if view.bag is None:
        return _("Nothing goes in; close {joint}.", joint=view.joint_name)
    return _("BAG {number}: nothing goes in; close {joint}.", number=view.bag,
             joint=view.joint_name)  # fmt: skip


def closed_text(view: RefitBagView) -> str:
    """What is ticked when a bag is done; that its joint stays open where something is left off."""
    if view.left_off:
        return _("DO NOT CLOSE {joint}: what is left off has to go in first.",
                 joint=view.joint_name)  # fmt: skip
    if view.bag is None:
        return _("{joint} closed", joint=view.joint_name)
    return _("{bag} empty, {joint} closed", bag=bag_text(view), joint=view.joint_name)


def line_text(line: BagLine) -> str:
    """ "2 × GASKET-A gasket"."""
    content = line.content
    name = f" {content.name}" if content.name != content.item else ""
    return with_kept(line, f"{amount_text(content)} × {content.item}{name}")


def rule_text(content: ContentView) -> str:
    """Whether it goes in new, old, after a look, or passed it."""
    if content.passed:
        return passed_text()
    return _(OLD_OR_NEW[content.rule])


def swap_texts(end: EndLabel) -> Iterator[str]:
    """Which rings must not be taken for this one."""
    for other in end.differs:
        yield _("DO NOT SWAP: {difference}", difference=differs_text(other))


def short_texts(view: RefitView, bag: RefitBagView) -> tuple[str, ...]:
    """What is short of a bag, left off or not fine, in this order."""
    own = (
        _("SHORT for this bag: {what}", what=shortage_text(one, elsewhere=False))
        for one in bag.short
    )
    left_off = (
        _("LEFT OFF, not in this bag: {what} ({positions})", what=line_text(line),
          positions=", ".join(line.positions))
        for line in bag.left_off
    )  # fmt: skip
    return (*own, *_kit_short(view, bag.used), *left_off, *map(doubt_text, bag.doubts))


def _kit_short(view: RefitView, items: Container[str]) -> Iterator[str]:
    for one in view.short_of(items):
        yield _("SHORT for this kit: {what}", what=shortage_text(one, elsewhere=False))


def step_use_texts(use: StepUseView) -> Iterator[str]:
    """What a step uses: the item with how much of it, and the step."""
    yield _("{item}: {amount}", item=f"{use.item} {use.name}", amount=amount_used_text(use))
    yield _("step {step}: {name}", step=use.step, name=use.step_name)


def use_faults(view: RefitView, use: StepUseView) -> Iterator[str]:
    """What is not fine of what a step uses, and what the kit lacks of it."""
    if use.left_off:
        yield _("LEFT OFF, not in the kit: not before it is known")
    else:
        yield from _kit_short(view, {use.item})
        yield from map(doubt_text, use.doubts)
