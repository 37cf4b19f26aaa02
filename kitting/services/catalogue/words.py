"""The words that a catalogue may use: those of the database, and the fixed ones of the facts."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Iterator, Mapping
from typing import Any

from sqlalchemy import select
from sqlalchemy.orm import Session

from kitting.facts.elastomers import ALSO_CALLED, ELASTOMERS
from kitting.facts.heads import PROFILES, sizes_of
from kitting.facts.names import as_said
from kitting.facts.rubber_media import MEDIA
from kitting.facts.words import Source
from kitting.files.catalogue.document import Catalogue
from kitting.files.catalogue.patterns import known_patterns
from kitting.services.catalogue.setup import GENERAL, seeds
from kitting.services.lookup import lookup
from kitting.tables.vocabulary import (
    Caution,
    Fluid,
    FluidCaution,
    GeneralTool,
    Kind,
    KindCaution,
    KindRule,
    KindTool,
    Licence,
    OtherWord,
    System,
    SystemCaution,
    SystemLicence,
)
from kitting.views.words import WordListsView, WordListView, WordView


def word_lists(
    session: Session, name: str | None = None, about: str | None = None
) -> WordListsView:
    """All lists of words, or one; `about` leaves those that are called so, or look like it.

    Raises UnknownNameError for a list that there is not.
    """
    chosen = LISTS if name is None else {key: LISTS[key] for key in [_list(name)]}
    (general,) = seeds(GENERAL)
    found = []
    for key, read in chosen.items():
        words = tuple(
            word for word in read(session, general.catalogue) if about is None or _is(word, about)
        )
        if words or about is None:
            found.append(WordListView(key, words))
    return WordListsView(tuple(found))


def _list(name: str) -> str:
    return lookup("list", name, {key: key for key in LISTS}, f"There are {', '.join(LISTS)}")


def _is(word: WordView, about: str) -> bool:
    asked = as_said(about)
    said = (word.word, word.name, *word.also)
    return any(asked in as_said(one) for one in said)


def _general(catalogue: Catalogue, section: str) -> frozenset[str]:
    return frozenset(entry.code for entry in getattr(catalogue, section))


def _linked(session: Session, owner: Any, other: Any, code: Any) -> dict[int, list[str]]:
    """What things bring along by a table of links, by the key of the owner."""
    found: dict[int, list[str]] = defaultdict(list)
    for key, name in session.execute(select(owner, code).where(other).order_by(owner, code)):
        found[key].append(name)
    return found


def _also(session: Session, owner: Any) -> dict[int, tuple[str, ...]]:
    """What else people call things, by the key of the thing."""
    found = _linked(session, owner, owner.is_not(None), OtherWord.word)
    return defaultdict(tuple, {key: tuple(said) for key, said in found.items()})


def _kinds(session: Session, general: Catalogue) -> Iterator[WordView]:
    known = _general(general, "kinds")
    also = _also(session, OtherWord.kind_id)
    rules: dict[int, list[str]] = defaultdict(list)
    plain = select(KindRule.kind_id, KindRule.rule, KindRule.source).where(
        KindRule.fluid_id.is_(None), KindRule.medium.is_(None), KindRule.system_id.is_(None)
    )
    for key, rule, source in session.execute(plain.order_by(KindRule.kind_id, KindRule.seq)):
        rules[key].append(f"{rule}{'' if source is Source.GENERAL else f' ({source})'}")
    tools = _linked(session, KindTool.kind_id, KindTool.tool_id == GeneralTool.id, GeneralTool.code)
    warned = _linked(
        session, KindCaution.kind_id, KindCaution.caution_id == Caution.id, Caution.code
    )
    for kind in session.scalars(select(Kind).order_by(Kind.code)):
        brings = (
            kind.family, *(["threaded"] if kind.threaded else []), *rules[kind.id],
            *(f"tool {code}" for code in tools[kind.id]),
            *(f"caution {code}" for code in warned[kind.id]),
        )  # fmt: skip
        yield WordView(
            kind.code, kind.name, also[kind.id], tuple(map(str, brings)),
            kind.code not in known,
        )  # fmt: skip


def _fluids(session: Session, general: Catalogue) -> Iterator[WordView]:
    known = _general(general, "fluids")
    also = _also(session, OtherWord.fluid_id)
    warned = _linked(
        session, FluidCaution.fluid_id, FluidCaution.caution_id == Caution.id, Caution.code
    )
    for fluid in session.scalars(select(Fluid).order_by(Fluid.code)):
        medium = [f"medium {fluid.medium}"] if fluid.medium else ["medium by the car"]
        brings = (*medium, *(f"caution {code}" for code in warned[fluid.id]))
        yield WordView(fluid.code, fluid.name, also[fluid.id], brings, fluid.code not in known)


def _systems(session: Session, general: Catalogue) -> Iterator[WordView]:
    known = _general(general, "systems")
    also = _also(session, OtherWord.system_id)
    warned = _linked(
        session, SystemCaution.system_id, SystemCaution.caution_id == Caution.id, Caution.code
    )
    asked = _linked(
        session, SystemLicence.system_id, SystemLicence.licence_id == Licence.id, Licence.code
    )
    for system in session.scalars(select(System).order_by(System.code)):
        brings = (
            *([] if system.general_torque else ["no general torque"]),
            *(f"licence {code}" for code in asked[system.id]),
            *(f"caution {code}" for code in warned[system.id]),
        )
        said = also[system.id]
        yield WordView(system.code, system.name, said, brings, system.code not in known)


def _named(
    table: Any, owner: Any, section: str
) -> Callable[[Session, Catalogue], Iterator[WordView]]:
    """A list of words that bring nothing along but their name."""

    def read(session: Session, general: Catalogue) -> Iterator[WordView]:
        known = _general(general, section)
        also = _also(session, owner)
        title = table.title if section == "cautions" else table.name
        for key, code, name in session.execute(
            select(table.id, table.code, title).order_by(table.code)
        ):
            yield WordView(code, name, also[key], own=code not in known)

    return read


def _rubbers(_session: Session, _general: Catalogue) -> Iterator[WordView]:
    for code, name in ELASTOMERS.items():
        yield WordView(code, name, tuple(said for said, of in ALSO_CALLED.items() if of == code))


def _media(_session: Session, _general: Catalogue) -> Iterator[WordView]:
    for code, medium in MEDIA.items():
        yield WordView(code, medium.name)


def _heads(_session: Session, _general: Catalogue) -> Iterator[WordView]:
    for name in PROFILES:
        sizes = sizes_of(name)
        yield WordView(name, f"{name} {sizes[len(sizes) // 2]}", brings=(", ".join(sizes),))


def _patterns(_session: Session, _general: Catalogue) -> Iterator[WordView]:
    for pattern in known_patterns().values():
        roles = (
            f"{name}{' (may be left out)' if role.optional else ''}: {' or '.join(role.kinds)}"
            for name, role in pattern.roles.items()
        )
        yield WordView(pattern.code, pattern.name, brings=tuple(roles))


# Every list, in the order of the file. A catalogue may add words to all but the last four.
LISTS: Mapping[str, Callable[[Session, Catalogue], Iterator[WordView]]] = {
    "kinds": _kinds,
    "fluids": _fluids,
    "systems": _systems,
    "cautions": _named(Caution, OtherWord.caution_id, "cautions"),
    "licences": _named(Licence, OtherWord.licence_id, "licences"),
    "tools": _named(GeneralTool, OtherWord.general_tool_id, "tools"),
    "rubbers": _rubbers,
    "media": _media,
    "heads": _heads,
    "patterns": _patterns,
}
