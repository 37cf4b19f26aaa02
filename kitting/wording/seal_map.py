"""The seal map in words: what a seal is to be matched by, and what it is not to be swapped with."""

from __future__ import annotations

from collections.abc import Sequence

from kitting.facts.plan_reasons import LubricantReason
from kitting.facts.seal_shapes import SealShape
from kitting.views.kit import DiffersView, EndLabel
from kitting.views.seal_map import SealJointView, SealMapView, SealPlaceView
from kitting.wording.bookings import source_warning
from kitting.wording.elastomers import rubber_name
from kitting.wording.figures import amount, millimetres
from kitting.wording.kit import applied_text, differs_text, lubricant_text
from kitting.wording.labels import coming_texts
from kitting.wording.language import N_, _, in_figures, n_
from kitting.wording.pick_list import lacking_texts

PRACTICE = N_(
    'Lay each new ring on its drawing where that says "true size", and measure its section before'
    " it goes on; tick it when it is on. What is not drawn is matched with the part that came out"
    " and with the seat. A used ring is stretched or swollen and proves nothing. Colour is only as"
    " supplied and proves no rubber. Which rings are near enough to be swapped is our own judgement"
    " (common practice, no source)."
)
_MATCH = {
    SealShape.MOULDED: N_("MOULDED: MATCH THE PART"),
    SealShape.SHAFT: N_("SHAFT SEAL: MATCH THE PART"),
    SealShape.WASHER: N_("WASHER: MATCH THE PART"),
    SealShape.GASKET: N_("GASKET: MATCH THE PART"),
    SealShape.OTHER: N_("MATCH THE PART"),
}


def match_text(place: SealPlaceView) -> str:
    """What a seal is to be matched by that is not drawn: "MOULDED: MATCH THE PART"."""
    return _(_MATCH[place.shape])


def size_note(place: SealPlaceView) -> str:
    """What is known of the size of a seal that is not drawn."""
    if place.hole is not None:
        return _(
            "hole {hole}, {thick} thick, outside not stated",
            hole=in_figures(millimetres(place.hole.across)),
            thick=in_figures(millimetres(place.hole.thick)),
        )
    return place.label.content.size or _("size not stated")


def stated_rubber(label: EndLabel) -> str:
    """The rubber first by its code, or that nobody states it: "FKM 75, fluorocarbon rubber"."""
    if label.elastomer is None:
        return _("RUBBER NOT STATED")
    name = rubber_name(label.elastomer)
    if label.hardness is None:
        return _("{code}, {name}, hardness not stated", code=label.elastomer, name=name)
    return _("{code} {hardness}, {name}", code=label.elastomer, hardness=label.hardness, name=name)


def fitted_text(label: EndLabel) -> tuple[str, bool]:
    """How a seal goes in, and whether that has to be seen: dry, or not with what was asked."""
    told = lubricant_text(label.lubricant, label.lubricant_sourced)
    loud = label.lubricant is not None and label.lubricant.code != LubricantReason.PRODUCT
    return told, loud


def bags_text(bags: Sequence[int]) -> str:
    """In which bags something lies: "BAGS 3, 4"."""
    numbers = ", ".join(map(str, bags))
    return n_("BAG {numbers}", "BAGS {numbers}", len(bags), numbers=numbers)


def joint_notes(joint: SealJointView) -> str:
    """What is to be known of a joint beside its seals; "" where there is nothing."""
    notes = []
    if len(joint.bags) > 1:
        notes.append(_("Rings that could be swapped lie in {count} bags.", count=len(joint.bags)))
    if joint.uses:
        notes.append(_("With: {uses}.", uses=applied_text(joint.uses)))
    return " ".join(notes)


def counted_text(view: SealMapView) -> str:
    """How many seals in how many joints, in which order."""
    seals = sum(len(joint.places) for joint in view.joints)
    joints = len(view.joints)
    return _(
        "{seals} in {joints}, in the order of refitting.",
        seals=n_("{count} seal", "{count} seals", seals),
        joints=n_("{count} joint", "{count} joints", joints),
    )


def place_marks(label: EndLabel) -> tuple[str, ...]:
    """What is not there, or not proven, of a seal where it goes: "SHORT 1", "AGE UNKNOWN …"."""
    marks, unit = [], label.content.unit
    if label.short:
        marks.append(_("SHORT {amount}", amount=amount(label.short, unit)))
    marks += coming_texts(label)
    if label.missing and not label.content.passed:
        marks.append(_("SPARE NOT IN KIT {amount}", amount=amount(label.missing, unit)))
    marks += [warning for lot in label.lots if (warning := source_warning(lot))]
    return tuple(dict.fromkeys(marks))


def short_texts(view: SealMapView, item: str) -> tuple[str, ...]:
    """What is not here of an item, as its row of the pick list says it."""
    lines = [line for line in view.short if line.content.item == item]
    return tuple(text for line in lines for text in lacking_texts(line))


def marked_short(view: SealMapView) -> tuple[str, ...]:
    """What of the seals is short, each marked at its place, and how much else is."""
    found = [
        _("{item}: {what}", item=item, what=text)
        for item in dict.fromkeys(line.content.item for line in view.short)
        for text in short_texts(view, item)
    ]
    if view.also_short:
        found.append(
            n_(
                "{count} line that is no seal is short too: see the pick list.",
                "{count} lines that are no seals are short too: see the pick list.",
                view.also_short,
            )
        )
    return tuple(found)


def swap_text(names: tuple[str, ...], other: DiffersView) -> str:
    """What tells a ring from another: "short leg: not long leg (17 × 2 mm, EPDM 70): …"."""
    return _("≠ {here}: {other}", here=" / ".join(names), other=differs_text(other))


def belongs_text(other: DiffersView) -> str:
    """Where a ring belongs that is drawn beside one it could be taken for."""
    return _("belongs to: {ends}", ends=" / ".join(other.ends))
