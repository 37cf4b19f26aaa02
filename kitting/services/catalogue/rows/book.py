"""The files of a load together, and the ids found so far."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

from kitting.facts.car_facts import CarFact
from kitting.files.catalogue.document import Catalogue


@dataclass(slots=True)
class Book:
    """All files of a load together, and the ids found so far, by table and natural key.

    `general` says that they are the general rules that come with the program. `told` has, by the
    key of a registration, what was told of a car at the garage and these files do not state.
    """

    catalogues: Sequence[Catalogue]
    general: bool = False
    ids: dict[str, dict[tuple[Any, ...], int]] = field(default_factory=dict)
    told: Mapping[str, Mapping[tuple[CarFact, str | None], str]] = field(default_factory=dict)

    def each(self, section: str) -> Iterator[Any]:
        """Every entry of a section, over all files."""
        for catalogue in self.catalogues:
            yield from getattr(catalogue, section)

    def id(self, table: str, *key: Any) -> int:
        """The id of a row by its natural key; the check before has made sure that it is there."""
        return self.ids[table][key]

    def maybe(self, table: str, code: str | None) -> int | None:
        """The id of a row by its code, None for None."""
        return None if code is None else self.ids[table][(code,)]
