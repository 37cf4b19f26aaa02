"""A marked text gets what it names, no less and no more: else it crashes after the work is done."""

from __future__ import annotations

import ast
from string import Formatter

import pytest
from translations import ERRORS, FOLDERS, RAISING, ROOT, literals, said

TELLING = {"_": set[str](), "p_": set[str](), "n_": {"count"}}
FILES = sorted(
    path.relative_to(ROOT).as_posix()
    for folder in FOLDERS
    for path in (ROOT / folder).rglob("*.py")
)


def named(text: str) -> set[str]:
    return {name for _before, name, *_rest in Formatter().parse(text) if name is not None}


def faults(code: str) -> list[tuple[int, set[str], set[str]]]:
    """Line, what its text names and nobody hands over, what is handed over for nothing."""
    found = []
    for node in ast.walk(ast.parse(code)):
        if not (isinstance(node, ast.Call) and isinstance(node.func, ast.Name)):
            continue
        if (given := TELLING.get(node.func.id)) is None:
            continue
        texts = [
            one.value
            for one in node.args
            if isinstance(one, ast.Constant) and isinstance(one.value, str)
        ]
        handed = {word.arg for word in node.keywords if word.arg}
        asked = set().union(*map(named, texts))
        if texts and len(handed) == len(node.keywords) and asked - given != handed:
            found.append((node.lineno, asked - given - handed, handed - asked))
    return found


@pytest.mark.parametrize("file", FILES)
def test_a_marked_text_gets_what_it_names(file: str) -> None:
    assert faults((ROOT / file).read_text("utf-8")) == []


def test_what_is_missing_or_too_much_is_found() -> None:
    code = '_("due {value}", why=1)\nn_("{count} {a}", "{count} {a}s", 2, a=1)\n_("agreed {}")'
    assert faults(code) == [(1, {"value"}, {"why"}), (3, {""}, set())]


RAISERS = sorted(
    path.relative_to(ROOT).as_posix()
    for folder in RAISING
    for path in (ROOT / folder).rglob("*.py")
)
# Messages that are still glued together where they are raised, and told in English: how many.
GLUED: dict[str, int] = {
    "kitting/calc/purchasing/sourcing_case.py": 2,
    "kitting/calc/rubber/ring_sizes.py": 5,
    "kitting/cli/clock.py": 1,
    "kitting/facts/element_strings.py": 1,
    "kitting/facts/gs1.py": 1,
    "kitting/facts/heads.py": 1,
    "kitting/facts/inch_threads.py": 1,
    "kitting/facts/stages.py": 1,
    "kitting/facts/threads.py": 2,
    "kitting/facts/torque_bands.py": 1,
    "kitting/facts/units.py": 9,
    "kitting/facts/weights.py": 1,
    "kitting/files/catalogue/sheets/cells.py": 3,
    "kitting/files/catalogue/sheets/reading.py": 1,
    "kitting/files/lists/price_cells.py": 1,
    "kitting/files/output/overwriting.py": 1,
    "kitting/files/shown_cells.py": 3,
    "kitting/services/advice/base_stock.py": 1,
    "kitting/services/bookings/kit_steps.py": 1,
    "kitting/services/bookings/trays.py": 1,
    "kitting/services/purchasing/by_hand.py": 1,
    "kitting/services/purchasing/claims.py": 1,
    "kitting/services/purchasing/corrections.py": 1,
    "kitting/services/purchasing/goods_in.py": 8,
    "kitting/services/purchasing/order_times.py": 1,
    "kitting/services/rubber/catalogue_rings.py": 1,
    "kitting/services/tools/purchase.py": 1,
    "kitting/services/upkeep/backup.py": 1,
    "kitting/store.py": 3,
    "reports/stationery.py": 1,
}


def errors_in(code: str) -> list[ast.Call]:
    """Where messages of errors are made."""
    return [
        node
        for node in ast.walk(ast.parse(code))
        if isinstance(node, ast.Call) and isinstance(node.func, ast.Name) and node.func.id in ERRORS
    ]


def glued(code: str) -> int:
    """How many messages of errors are made of pieces before they are handed over."""
    return sum(
        any(isinstance(part, ast.JoinedStr) for one in said(call) for part in ast.walk(one))
        for call in errors_in(code)
    )


def faults_of_errors(code: str) -> list[tuple[int, set[str], set[str]]]:
    """Line, what a message names and nobody hands over, what is handed over for nothing."""
    found = []
    for call in errors_in(code):
        texts = [text for one in said(call) for text in literals(one)]
        handed = {word.arg for word in call.keywords if word.arg and word.arg != "then"}
        if not texts or any(word.arg is None for word in call.keywords):
            continue
        asked = set().union(*map(named, texts)) if handed else set[str]()
        if asked != handed:
            found.append((call.lineno, asked - handed, handed - asked))
    return found


@pytest.mark.parametrize("file", RAISERS)
def test_a_message_of_an_error_gets_what_it_names(file: str) -> None:
    code = (ROOT / file).read_text("utf-8")
    assert faults_of_errors(code) == []
    assert glued(code) == GLUED.get(file, 0)


def test_a_message_that_lacks_a_name_or_is_glued_is_found() -> None:
    code = (
        'raise KittingError("{a} is {b}", a=1, c=2, then=[])\nraise FigureError(f"{text} is none")'
    )
    assert faults_of_errors(code) == [(1, {"b"}, {"c"})]
    assert glued(code) == 1
