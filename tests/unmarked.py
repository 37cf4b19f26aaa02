"""What is told without being marked: words of English where every marked text has accents."""

from __future__ import annotations

import csv
import re
from collections.abc import Collection, Iterator
from pathlib import Path
from typing import Any

from babel import Locale
from ruamel.yaml import YAML

SEEDS = Path(__file__).resolve().parent.parent / "seeds"
RUBBERS = SEEDS.parent / "kitting" / "facts" / "compatibility.csv"
# Codes, standards, units and signs that are the same in every language.
SAME = frozenset(
    """
    kitting pdf json csv yaml png tag
    each mm cm ml g kg h min s dB rpm lbf kgf ft in cu cc lb oz
    GBP EUR USD nan
    NBR FKM EPDM HNBR VMQ PTFE ACM AEM FVMQ FFKM CR AU
    ISO DIN SAE ASTM EN BS ANSI AS GS
    Kit
    """.split()
)
# The tag under which the language of tests/pseudo.py is told: its names of months and days.
_CALENDAR = Locale("de")
_DAYS = frozenset(
    name.strip(".")
    for names in (_CALENDAR.months, _CALENDAR.days)
    for width in ("abbreviated", "wide")
    for name in names["format"][width].values()
)
_WORD = re.compile(r"[^\W\d_]{2,}")
_NEXT_TO_A_FIGURE = re.compile(r"[\d_=/\\@%{}]|--|\w-\w|\w\.\w")


def data_of_seeds() -> frozenset[str]:
    """Every name, code and text of the demo garage."""
    found: set[str] = set()
    for path in SEEDS.glob("demo_*.yaml"):
        found.update(_texts(YAML(typ="safe").load(path.read_text(encoding="utf-8"))))
    # What sources say of rubbers is quoted.
    for path in (*SEEDS.glob("demo_*.csv"), RUBBERS):
        with path.open(encoding="utf-8", newline="") as file:
            found.update(cell for row in csv.reader(file) for cell in row)
    patterns = YAML(typ="safe").load((SEEDS / "patterns.yaml").read_text(encoding="utf-8"))
    found.update(_texts(patterns))
    general = YAML(typ="safe").load((SEEDS / "general.yaml").read_text(encoding="utf-8"))
    for section in general.values():
        for entry in section:
            found.update((str(entry["code"]), *entry.get("also", ()), str(entry.get("medium", ""))))
    return frozenset(text for text in found if len(text) > 1)


def _texts(value: Any) -> Iterator[str]:
    if isinstance(value, dict):
        for one in value.values():
            yield from _texts(one)
        yield from (key for key in value if isinstance(key, str))
    elif isinstance(value, list):
        for one in value:
            yield from _texts(one)
    elif isinstance(value, str):
        yield value


def unmarked(text: str, data: Collection[str]) -> list[str]:
    """The lines of a text with words that are neither accented nor data, each as what is left."""
    pattern = _any_of(data)
    found = []
    for line in text.splitlines():
        told = re.sub(r"\bkitting .*", "", line)
        left = pattern.sub(" · ", told)
        words = [
            word
            for part in left.split()
            if not _NEXT_TO_A_FIGURE.search(part)
            for word in _WORD.findall(part)
            if word.isascii() and word not in SAME | _DAYS and word.strip("dbfmpqvwxBDFMPQVWX")
        ]
        if words:
            found.append(f"{' '.join(words)}  <  {line.strip()}")
    return found


def _any_of(data: Collection[str]) -> re.Pattern[str]:
    longest_first = sorted(data, key=len, reverse=True)
    return re.compile(rf"(?<!\w)(?:{'|'.join(map(re.escape, longest_first))})(?![A-Za-z0-9_])")
