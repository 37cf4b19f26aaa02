"""What all entries share: named things by key, figures as they are typed, what is left out."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from decimal import Decimal
from functools import cached_property
from typing import Any

from sqlalchemy import select
from sqlalchemy.orm import Session

from kitting.facts.units import plain, typed_quantity
from kitting.services.db.sync import chunks
from kitting.tables.items import Item
from kitting.tables.units import Joint, Split, SplitOption, Unit
from kitting.tables.vocabulary import Caution, Fluid, GeneralTool, Kind, Licence, System

Entry = dict[str, Any]


def entry(**values: Any) -> Entry:
    """An entry with what is stated: None, an empty text and an empty list are left out."""
    return {
        key: value
        for key, value in values.items()
        if value is not None and value != [] and value != {} and value != ""
    }


def length(thousandths: int | None) -> str | None:
    """Thousandths of a millimetre as they are typed."""
    return None if thousandths is None else typed_quantity(thousandths, "mm")


def amount(thousandths: int | None, unit: str) -> str | None:
    """An amount as it is typed."""
    return None if thousandths is None else typed_quantity(thousandths, unit)


def figure(value: int | None, unit: str, parts: int = 1) -> str | None:
    """A figure of so many parts of a unit, as it is typed."""
    return None if value is None else f"{plain(Decimal(value) / parts)} {unit}"


class Names:
    """The codes of named things by their keys, read once each."""

    def __init__(self, session: Session) -> None:
        self.session = session

    def _codes(self, table: Any) -> dict[int, str]:
        return dict(self.session.execute(select(table.id, table.code)).all())

    @cached_property
    def items(self) -> dict[int, str]:
        """Items by key."""
        return self._codes(Item)

    @cached_property
    def units_of_items(self) -> dict[int, str]:
        """What items are counted in, by key."""
        return dict(self.session.execute(select(Item.id, Item.unit)).all())

    @cached_property
    def kinds(self) -> dict[int, str]:
        """Kinds by key."""
        return self._codes(Kind)

    @cached_property
    def fluids(self) -> dict[int, str]:
        """Fluids by key."""
        return self._codes(Fluid)

    @cached_property
    def systems(self) -> dict[int, str]:
        """Systems by key."""
        return self._codes(System)

    @cached_property
    def cautions(self) -> dict[int, str]:
        """Cautions by key."""
        return self._codes(Caution)

    @cached_property
    def licences(self) -> dict[int | None, str | None]:
        """Licences by key; None has none."""
        codes: dict[int | None, str | None] = {None: None}
        for key, code in self._codes(Licence).items():
            codes[key] = code
        return codes

    @cached_property
    def tools(self) -> dict[int, str]:
        """General tools by key."""
        return self._codes(GeneralTool)

    @cached_property
    def units(self) -> dict[int, str]:
        """Units by key."""
        return self._codes(Unit)

    @cached_property
    def joints(self) -> dict[int, tuple[str, str]]:
        """Joints by key: unit and code."""
        rows = self.session.execute(
            select(Joint.id, Unit.code, Joint.code).join(Unit, Joint.unit_id == Unit.id)
        )
        return {key: (unit, code) for key, unit, code in rows}

    @cached_property
    def options(self) -> dict[int | None, str | None]:
        """Options of splits by key, as SPLIT/OPTION; None has none."""
        rows = self.session.execute(
            select(SplitOption.id, Split.code, SplitOption.code).join(
                Split, SplitOption.split_id == Split.id
            )
        )
        return {None: None, **{key: f"{split}/{option}" for key, split, option in rows}}

    @cached_property
    def units_of_splits(self) -> dict[int, str]:
        """The units of splits by their key."""
        rows = select(Split.id, Unit.code).join(Unit, Split.unit_id == Unit.id)
        return dict(self.session.execute(rows).all())

    def rows_of(
        self, table: Any, owner: str, keys: Iterable[int], *order: str
    ) -> dict[int, list[Any]]:
        """The rows of a table by their owner's key, in an order of columns."""
        found: dict[int, list[Any]] = defaultdict(list)
        column = getattr(table, owner)
        rows = select(table).order_by(*(getattr(table, name) for name in order))
        for some in chunks(sorted(set(keys))):
            for row in self.session.scalars(rows.where(column.in_(some))):
                found[getattr(row, owner)].append(row)
        return found


def stated(rules: Sequence[Any]) -> list[Entry]:
    """What sources say of an item or a position, by source."""
    return [
        entry(
            rule=str(rule.rule),
            source=str(rule.source),
            criterion=rule.criterion,
            reference=rule.reference,
        )
        for rule in rules
    ]


def linked(
    rows: Mapping[int, Sequence[Any]], key: int, column: str, codes: Mapping[int, str]
) -> list[str]:
    """The codes that rows of a table of links name, sorted."""
    return sorted(codes[getattr(row, column)] for row in rows.get(key, ()))
