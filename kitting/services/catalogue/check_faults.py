"""Faults of meaning in catalogue files, one function per sort of fault."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence

from kitting.calc.planning.access import find_ring
from kitting.calc.planning.consumption import NOZZLE_WASTE, drops
from kitting.errors import FigureError, Problem
from kitting.facts.public_holidays import country_closures
from kitting.files.catalogue.document import Fit, Joint, Unit
from kitting.files.catalogue.item_shapes import Item
from kitting.files.catalogue.lines import Place
from kitting.files.catalogue.source import Source
from kitting.files.catalogue.vehicle_shapes import Vehicle
from kitting.files.catalogue.work_shapes import Use
from kitting.services.lookup import hint, other_unit

TERMS = {"branches": "branch", "suppliers": "supplier"}


def one_of_section(section: str) -> str:
    """What an entry of a section is called: an "item" of "items"."""
    return TERMS.get(section, section[:-1])


def missing(
    source: Source,
    place: Place,
    what: str,
    code: str,
    known: Iterable[str],
    meant: Sequence[str] = (),
) -> Problem:
    """An unknown name, at the thing that names it; `meant` is what people mean by such a word."""
    step = hint(code, sorted(known), f"Describe the {what} first")
    if meant:
        step = f"Did you mean {' or '.join(meant)}?"
    return source.problem(place, f"{owner(source, place)}{what} {code!r}", "unknown name", step)


def owner(source: Source, place: Place) -> str:
    """Whose entry a place is: "unit u joint j position ring: "; empty for no known entry."""
    here: object = source.catalogue
    named = []
    section = ""
    for key in place:
        if isinstance(key, str):
            section, here = key, getattr(here, key, None)
        elif isinstance(here, Sequence) and key < len(here):
            here = here[key]
            named.append(_called(section, here))
        else:
            break
    return f"{' '.join(filter(None, named))}: " if any(named) else ""


def _called(section: str, entry: object) -> str:
    match entry:
        case Fit():
            return f"position {entry.all_positions[0]}"
        case Use():
            return f"use of {entry.item}"
        case Vehicle():
            return f"vehicle {entry.registration}"
    code = getattr(entry, "code", None)
    return "" if code is None else f"{one_of_section(section)} {code}"


def closures(source: Source) -> Iterator[Problem]:
    """Countries whose holidays are not known."""
    for section, what in TERMS.items():
        for number, entry in enumerate(getattr(source.catalogue, section)):
            if entry.country is None:
                continue
            try:
                country_closures(entry.country, entry.subdivision, [2026])
            except FigureError as error:
                place: Place = (section, number, "country")
                step = "Correct it, or leave it out and list closed days"
                yield source.problem(place, f"{what} {entry.code}", error.message, step)


def twice(source: Source, place: Place, thing: str, what: str) -> Problem:
    return source.problem(place, thing, f"{what} is given twice", "Keep one of the two")


def unit_fault(source: Source, place: Place, thing: str, given: str, wanted: str) -> Problem:
    return source.problem(
        place, thing, f"given in {given}, but stocked in {wanted}", other_unit(given, wanted)
    )


def unit_changed(sources: Sequence[Source], counted: Mapping[str, str]) -> Iterator[Problem]:
    """Items of which something was counted in another unit: 38 pieces would become 38 ml."""
    for source in sources:
        for number, item in enumerate(source.catalogue.items):
            unit = counted.get(item.code, item.unit)
            if unit != item.unit:
                yield source.problem(
                    ("items", number, "unit"),
                    f"item {item.code}",
                    f"given in {item.unit}, but lots, orders or bookings count it in {unit}",
                    "Leave its unit; give what is counted otherwise a code of its own",
                )


def repeated_sources(
    source: Source, place: Place, thing: str, stated: Sequence[str], part: str = "rules"
) -> Iterator[Problem]:
    """Two statements of one source, which would contradict each other."""
    for index, name in enumerate(stated):
        if name in stated[:index]:
            yield twice(source, (*place, part, index), thing, f"source {name!r}")


def repeated_entries(sources: Sequence[Source], sections: Iterable[str]) -> Iterator[Problem]:
    """What one file or several describe a second time."""
    for section in sections:
        first: dict[str, str] = {}
        for source in sources:
            for number, entry in enumerate(getattr(source.catalogue, section)):
                code = entry.registration if section == "vehicles" else entry.code
                folded = "".join(code.split()).upper() if section == "vehicles" else code
                if folded in first:
                    yield source.problem(
                        (section, number),
                        f"{one_of_section(section)} {code}",
                        f"described a second time (first in {first[folded]})",
                        "Keep one of the two",
                    )
                first.setdefault(folded, source.name)


def repeated_codes(source: Source, here: Place, unit: Unit, part: str) -> Iterator[Problem]:
    seen = set()
    for number, entry in enumerate(getattr(unit, part)):
        if entry.code in seen:
            yield twice(source, (*here, part, number), f"unit {unit.code}", entry.code)
        seen.add(entry.code)


def repeated_positions(
    source: Source, place: Place, unit: str, joint: str, fits: Sequence[Fit]
) -> Iterator[Problem]:
    """One position holds one item: for all cars, or one per option of one split."""
    taken: dict[str, list[str | None]] = {}
    for number, fit in enumerate(fits):
        for position in fit.all_positions:
            others = taken.setdefault(position, [])
            split = fit.option and fit.option.partition("/")[0]
            clash = any(
                other is None
                or fit.option is None
                or other == fit.option
                or other.partition("/")[0] != split
                for other in others
            )
            if clash:
                yield source.problem(
                    (*place, "fits", number),
                    f"unit {unit} joint {joint} position {position!r}",
                    "the position is described twice for the same cars",
                    "Give the positions different names, or each an option of one split",
                )
            others.append(fit.option)


def foreign_fluids(
    source: Source, place: Place, thing: str, joint: Joint, fit: Fit
) -> Iterator[Problem]:
    """Fluids that an item is stated to touch and its joint does not hold back."""
    for index, code in enumerate(fit.fluids):
        if code not in joint.fluids:
            step = f"Name one of the joint's: {', '.join(joint.fluids) or 'it has none'}"
            reason = f"touches fluid {code!r}, which its joint does not hold back"
            yield source.problem((*place, "fluids", index), thing, reason, step)


def unknown_history(
    source: Source,
    here: Place,
    vehicle: Vehicle,
    joints: Mapping[str, Iterable[str]],
    positions: Mapping[str, Iterable[str]],
) -> Iterator[Problem]:
    """Joints and positions of a car's history that nothing describes: no limit would count them."""
    for index, removal in enumerate(vehicle.history):
        place: Place = (*here, "history", index)
        unit, _, joint = removal.joint.partition("/")
        if joint not in joints.get(unit, ()):
            known = [f"{code}/{name}" for code, names in joints.items() for name in names]
            yield missing(source, (*place, "joint"), "joint", removal.joint, known)
        elif removal.position not in positions.get(removal.joint, ()):
            near = positions.get(removal.joint, ())
            what = f"position at joint {removal.joint}"
            yield missing(source, (*place, "position"), what, removal.position, near)


def in_no_packet(
    source: Source, here: Place, item: Item, sources: Iterable[Source]
) -> Iterator[Problem]:
    """An item that comes in packets only, and in none of them."""
    brought = (
        content.item
        for other in sources
        for packet in other.catalogue.items
        for content in packet.contents
    )
    if not item.sold_singly and item.code not in brought:
        yield source.problem(
            here,
            f"item {item.code}",
            "is not sold singly, and no packet of these files brings it",
            "Add it to the contents of a packet, or take 'sold_singly: false' out",
        )


def packet_ring(sources: Sequence[Source], known: Mapping[str, Iterable[str]]) -> Iterator[Problem]:
    """Packets that hold one another, which would never be unpacked; `known` are those on record."""
    held = {packet: tuple(inside) for packet, inside in known.items()}
    places: dict[str, tuple[Source, int]] = {}
    for source in sources:
        for number, item in enumerate(source.catalogue.items):
            places[item.code] = (source, number)
            # One that names itself is told beside.
            held[item.code] = tuple(c.item for c in item.contents if c.item != item.code)
    codes = list(held)
    keys = {code: key for key, code in enumerate(codes)}
    ring = find_ring(
        {keys[code]: [keys[c] for c in inside if c in keys] for code, inside in held.items()}
    )
    here = next((codes[key] for key in ring if codes[key] in places), None)
    if here is not None:
        source, index = places[here]
        yield source.problem(
            ("items", index, "contents"),
            f"item {here}",
            f"packets hold one another in a ring: {' → '.join(codes[key] for key in ring)}",
            "Take one of these contents out",
        )


def needs_exist(
    source: Source, place: Place, thing: str, needs: Sequence[str], known: Iterable[str]
) -> Iterator[Problem]:
    for index, code in enumerate(needs):
        there: Place = (*place, "needs", index)
        if code not in known:
            yield missing(source, there, "step", code, known)
        if code in needs[:index]:
            yield twice(source, there, thing, f"step {code!r}")


def step_ring(source: Source, here: Place, unit: Unit) -> Iterator[Problem]:
    number = {step.code: index for index, step in enumerate(unit.steps)}
    ring = find_ring(
        {
            index: [number[code] for code in step.needs if code in number]
            for index, step in enumerate(unit.steps)
        }
    )
    if ring:
        named = " → ".join(unit.steps[index].code for index in ring)
        yield source.problem(
            (*here, "steps", ring[0], "needs"),
            f"unit {unit.code}",
            f"steps need one another in a ring: {named}",
            "Take one of these needs out",
        )


def gtin_faults(
    source: Source, here: Place, item: Item, known: Mapping[str, str]
) -> Iterator[Problem]:
    """A number of packets that another item has as well; `known` is the item of each number."""
    for index, gtin in enumerate(item.gtins):
        other = known.get(gtin, item.code)
        if other != item.code:
            yield source.problem(
                (*here, "gtins", index),
                f"item {item.code}",
                f"the number {gtin} is that of {other} already: a scan would not tell which it is",
                "Leave it at one of them",
            )


def drops_fault(source: Source, place: Place, thing: str, use: Use) -> Iterator[Problem]:
    if use.drops is not None:
        try:
            drops(use.drops.thread.name, use.drops.threads)
        except FigureError as error:
            yield source.problem((*place, "drops"), thing, error.message, "Use 'amount' here")


def nozzle_fault(source: Source, place: Place, thing: str) -> Problem:
    """A bead of tubes that nothing comes out of, by the usual waste."""
    usual = f"{NOZZLE_WASTE / 1000:g} ml"
    reason = f"each tube holds no more than the {usual} counted for a nozzle where none is stated"
    return source.problem((*place, "bead"), thing, reason, "Give nozzle_waste of the item")


def told_once(sources: Sequence[Source], problems: Iterable[Problem]) -> list[Problem]:
    """The problems without those that a spot which stands for several entries repeats."""
    repeated = {source.name: source.repeated for source in sources}
    told: dict[object, Problem] = {}
    for one in problems:
        spot = (one.sheet, one.line)
        same = (one.file, spot, one.reason, one.next_step)
        told.setdefault(same if spot in repeated.get(one.file, ()) else one, one)
    return list(told.values())
