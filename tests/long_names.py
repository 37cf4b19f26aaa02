"""The demo garage with every name, position, bin and reference stretched to near its limits.

Half of a text is words as long as they come, without a blank. Codes and figures stay.
"""

from __future__ import annotations

import json
from itertools import cycle, islice
from typing import Any

from kitting.facts.bounds import NAME_SIGNS
from kitting.files.catalogue.source import Source, parse_catalogue
from kitting.files.catalogue.yaml_text import parse_yaml
from kitting.services.catalogue.setup import seed_paths
from kitting.services.demo import FILES

# What a text of a field is stretched to; a plate and a code are no names.
NAME, BIN, NOTE = NAME_SIGNS - 10, 60, 260
_FIELDS = {
    "name": NAME, "position": NAME, "positions": NAME, "end": NAME, "front": NAME,
    "seen_from": NAME, "bin": BIN, "reference": NOTE, "criterion": NOTE, "note": NOTE,
    "question": NOTE, "check": NOTE, "seen": NOTE,
}  # fmt: skip
_WORDS = (
    "Kühlmittelrücklaufrohrverschraubungsdichtring", "behind", "the",
    "Zwischenwellenlagerbockbefestigungsschraube", "of", "Nebenaggregateträgerunterseite",
)  # fmt: skip


def stretched_name(text: str, signs: int) -> str:
    """A text followed by long words, so many signs in all; the same for the same text."""
    grown = " ".join([text, *islice(cycle(_WORDS), 3 + signs // 10)])
    return grown[: max(signs, len(text))].rstrip()


def stretched_entry(entry: Any, field: str = "") -> Any:
    """What YAML holds with the texts of the fields above stretched; positions are one name."""
    if isinstance(entry, dict):
        return {key: stretched_entry(value, key) for key, value in entry.items()}
    if isinstance(entry, list):
        return [stretched_entry(value, field) for value in entry]
    if isinstance(entry, str) and field in _FIELDS:
        return stretched_name(entry, _FIELDS[field])
    return entry


def long_catalogue() -> list[Source]:
    """The files of the demo garage, their texts stretched."""
    made = []
    with seed_paths(FILES) as paths:
        for path in paths:
            entries, problems = parse_yaml(path.name, path.read_text("utf-8"))
            assert not problems
            # What is JSON is YAML too.
            text = json.dumps(stretched_entry(entries), ensure_ascii=False, default=str)
            found, faults = parse_catalogue(path.name, text)
            assert found is not None, faults
            made.append(found)
    return made
