"""What names of catalogue files may refer to beside the files themselves."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import NamedTuple

from kitting.services.catalogue.check_figures import MadeIn


class SaidWord(NamedTuple):
    """What people call something of a section, and its code."""

    section: str
    code: str
    word: str


@dataclass(frozen=True, slots=True)
class Known:
    """Names that the database already has, by section; step and joint codes by unit.

    `counted` has the unit of each item that is counted already; `chosen` are the splits that
    customers settle, `gtins` the items of numbers, `positions` by UNIT/JOINT, `words` what people
    call fluids, tools, kinds and the like.
    """

    names: Mapping[str, frozenset[str]] = field(default_factory=dict)
    steps: Mapping[str, frozenset[str]] = field(default_factory=dict)
    joints: Mapping[str, frozenset[str]] = field(default_factory=dict)
    positions: Mapping[str, frozenset[str]] = field(default_factory=dict)
    options: Mapping[str, Mapping[str, frozenset[str]]] = field(default_factory=dict)
    item_units: Mapping[str, str] = field(default_factory=dict)
    lost_in_nozzle: frozenset[str] = frozenset()
    item_threads: Mapping[str, tuple[str | None, str | None]] = field(default_factory=dict)
    item_kinds: Mapping[str, str] = field(default_factory=dict)
    threaded: Mapping[str, bool] = field(default_factory=dict)
    made_in: MadeIn = field(default_factory=dict)
    contents: Mapping[str, frozenset[str]] = field(default_factory=dict)
    counted: Mapping[str, str] = field(default_factory=dict)
    chosen: frozenset[str] = frozenset()
    gtins: Mapping[str, str] = field(default_factory=dict)
    words: frozenset[SaidWord] = frozenset()
