"""Words that the catalogue is written in: cautions, fluids, systems, licences, tools, kinds."""

from __future__ import annotations

from sqlalchemy import CheckConstraint, UniqueConstraint, false, true
from sqlalchemy.orm import Mapped, mapped_column

from kitting.facts.threads import PROPERTY_CLASSES
from kitting.facts.words import RULE_SOURCES, ItemFamily, KindRubber, RelaxedBy, Rule, Source
from kitting.tables.base import (
    Base,
    Code,
    Identity,
    LongText,
    Medium,
    Name,
    Position,
    UniqueWhere,
    Word,
    one_given,
    one_of,
    owned_by,
    refers_to,
)


class Caution(Base):
    """A warning that travels with the work."""

    __tablename__ = "caution"
    __table_args__ = (UniqueConstraint("code"),)

    id: Mapped[Identity]
    code: Mapped[Code]
    title: Mapped[Name]
    text: Mapped[LongText]
    word: Mapped[Name | None]


class Fluid(Base):
    """What a joint holds back. `medium` is the class by which rubbers are rated, if it is known."""

    __tablename__ = "fluid"
    __table_args__ = (UniqueConstraint("code"),)

    id: Mapped[Identity]
    code: Mapped[Code]
    name: Mapped[Name]
    medium: Mapped[Medium | None]


class System(Base):
    """The part of a car that a joint belongs to."""

    __tablename__ = "system"
    __table_args__ = (UniqueConstraint("code"),)

    id: Mapped[Identity]
    code: Mapped[Code]
    name: Mapped[Name]
    general_torque: Mapped[bool]


class Licence(Base):
    """A qualification without which a step is not begun."""

    __tablename__ = "licence"
    __table_args__ = (UniqueConstraint("code"),)

    id: Mapped[Identity]
    code: Mapped[Code]
    name: Mapped[Name]
    text: Mapped[LongText]


class GeneralTool(Base):
    """A tool that steps and kinds ask for by name, not by size."""

    __tablename__ = "general_tool"
    __table_args__ = (UniqueConstraint("code"),)

    id: Mapped[Identity]
    code: Mapped[Code]
    name: Mapped[Name]


class Kind(Base):
    """A kind of item; threaded kinds need a tightening figure, those of rubber its material.

    `general_torque` says whether a figure of a general thread table may ever stand in; `rubber`
    None: rings are, other families are not. What `locks_threads` is put on a thread to hold it.
    `weakest_class` and `strongest_class` are the property classes between which it is made.
    """

    __tablename__ = "kind"
    __table_args__ = (
        UniqueConstraint("code"),
        one_of("family", ItemFamily),
        one_of("rubber", KindRubber),
        # A chance outside 0..1 would poison every probability computed from it.
        CheckConstraint("chance >= 0 AND chance <= 1", name="chance_is_probability"),
        # A class that no standard has could check no figure.
        one_of("weakest_class", PROPERTY_CLASSES),
        one_of("strongest_class", PROPERTY_CLASSES),
    )

    id: Mapped[Identity]
    code: Mapped[Code]
    name: Mapped[Name]
    family: Mapped[ItemFamily]
    threaded: Mapped[bool]
    general_torque: Mapped[bool] = mapped_column(server_default=true())
    rubber: Mapped[KindRubber | None]
    locks_threads: Mapped[bool] = mapped_column(server_default=false())
    chance: Mapped[float | None]
    weakest_class: Mapped[Word | None]
    strongest_class: Mapped[Word | None]


class KindRule(Base):
    """What goes back, for a kind, where nothing more exact is known."""

    __tablename__ = "kind_rule"
    __table_args__ = (
        UniqueConstraint("kind_id", "seq"),
        one_of("rule", Rule),
        one_of("source", RULE_SOURCES),
        one_of("relaxed_by", RelaxedBy),
    )
    # One plain rule per source: two would contradict each other.
    __unique_where__ = (
        UniqueWhere(
            "uq_kind_rule_plain",
            ("kind_id", "source"),
            "fluid_id IS NULL AND medium IS NULL AND system_id IS NULL",
        ),
    )

    id: Mapped[Identity]
    kind_id: Mapped[int] = mapped_column(owned_by("kind"))
    seq: Mapped[Position]
    rule: Mapped[Rule]
    source: Mapped[Source]
    fluid_id: Mapped[int | None] = mapped_column(refers_to("fluid"))
    medium: Mapped[Medium | None]
    system_id: Mapped[int | None] = mapped_column(refers_to("system"))
    criterion: Mapped[LongText | None]
    reference: Mapped[LongText]
    relaxed_by: Mapped[RelaxedBy]


class KindDry(Base):
    """A material whose items of a kind go on dry, unless the maker names a lubricant."""

    __tablename__ = "kind_dry"

    kind_id: Mapped[int] = mapped_column(owned_by("kind"), primary_key=True)
    elastomer: Mapped[Word] = mapped_column(primary_key=True)


class KindTool(Base):
    """A removal or fitting tool that a kind always asks for."""

    __tablename__ = "kind_tool"

    kind_id: Mapped[int] = mapped_column(owned_by("kind"), primary_key=True)
    tool_id: Mapped[int] = mapped_column(refers_to("general_tool"), primary_key=True)


class KindCaution(Base):
    """A caution that comes with every item of a kind."""

    __tablename__ = "kind_caution"

    kind_id: Mapped[int] = mapped_column(owned_by("kind"), primary_key=True)
    caution_id: Mapped[int] = mapped_column(refers_to("caution"), primary_key=True)


class KindSystem(Base):
    """A system that every item of a kind belongs to, whatever the system of its joint."""

    __tablename__ = "kind_system"

    kind_id: Mapped[int] = mapped_column(owned_by("kind"), primary_key=True)
    system_id: Mapped[int] = mapped_column(refers_to("system"), primary_key=True)


class FluidCaution(Base):
    """A caution that comes with a fluid."""

    __tablename__ = "fluid_caution"

    fluid_id: Mapped[int] = mapped_column(owned_by("fluid"), primary_key=True)
    caution_id: Mapped[int] = mapped_column(refers_to("caution"), primary_key=True)


class SystemCaution(Base):
    """A caution that comes with work on a system."""

    __tablename__ = "system_caution"

    system_id: Mapped[int] = mapped_column(owned_by("system"), primary_key=True)
    caution_id: Mapped[int] = mapped_column(refers_to("caution"), primary_key=True)


class SystemLicence(Base):
    """A licence without which nobody works on a system."""

    __tablename__ = "system_licence"

    system_id: Mapped[int] = mapped_column(owned_by("system"), primary_key=True)
    licence_id: Mapped[int] = mapped_column(refers_to("licence"), primary_key=True)


class OtherWord(Base):
    """What else people call a word of the vocabulary."""

    __tablename__ = "other_word"
    __table_args__ = (
        # A word is said of one thing; the same word of another thing is a row of its own.
        one_given(
            ("kind_id", "fluid_id", "system_id", "caution_id", "licence_id", "general_tool_id"),
            "of_one_thing",
        ),
        UniqueConstraint("kind_id", "word"),
        UniqueConstraint("fluid_id", "word"),
        UniqueConstraint("system_id", "word"),
        UniqueConstraint("caution_id", "word"),
        UniqueConstraint("licence_id", "word"),
        UniqueConstraint("general_tool_id", "word"),
    )

    id: Mapped[Identity]
    kind_id: Mapped[int | None] = mapped_column(owned_by("kind"))
    fluid_id: Mapped[int | None] = mapped_column(owned_by("fluid"))
    system_id: Mapped[int | None] = mapped_column(owned_by("system"))
    caution_id: Mapped[int | None] = mapped_column(owned_by("caution"))
    licence_id: Mapped[int | None] = mapped_column(owned_by("licence"))
    general_tool_id: Mapped[int | None] = mapped_column(owned_by("general_tool"))
    word: Mapped[Name]
