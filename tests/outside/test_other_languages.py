"""Every sheet and label in English and in a language whose texts are 40 % longer.

Looked at from outside, by pypdfium2: nothing leaves its margins, no line lies over another, no
figure or code is lost, no line is so thin that it vanishes when copied, and whatever is told
without being marked for other languages is found. The catalogues are the demo garage, the same
with very long names, and the brakes of the first own job.
"""

from __future__ import annotations

import ctypes
import re
from collections import Counter
from collections.abc import Callable, Iterator
from contextlib import AbstractContextManager, nullcontext
from functools import cache
from importlib.resources import files
from pathlib import Path

import pypdfium2
import pytest
from every_sheet import Sheets, of_booking, of_plan
from examples import MANY
from long_names import long_catalogue
from paper import characters, lines, opened, require_clear
from pseudo import pseudo
from sqlalchemy import Engine, select

from conftest import Templates
from conftest import opened as opened_database
from helpers import load
from kitting.reports.stationery import PAPERS, STOCKS
from kitting.reports.text import ELLIPSIS, THINNEST
from kitting.services.catalogue.load import load_sources
from kitting.services.catalogue.setup import seed_paths
from kitting.services.demo import FILES, STOCK, TOOLS, load_demo_lists
from kitting.services.tools.toolboxes import load_tools
from kitting.store import reading
from kitting.tables.items import Item
from kitting.wording.language import speaking

BRAKES = Path(__file__).parents[1] / "first_job" / "brakes.yaml"
CAR = """
vehicles:
  - {registration: KITE 1, model: kite, equipment: {motor-brake: 'yes', disc-300: 'yes'}}
"""
BOOKED, PLANNED = ("J1", "J2", "J3"), ("J4", "J5", "J6", "J7")
FEW = ("63x38-21", "99x67-8", "102x152", "120x60-tag")
LABELS = tuple(STOCKS) if MANY else FEW
# A unit within a marked text gets accents too, which no translator would give it.
UNITS = str.maketrans("Ňňľ", "Nnl")
# A figure with its unit, and a code of two or more parts.
FIGURE = re.compile(r"(?<![\w.,])\d+(?:[.,]\d+)? ?(?:N·m|lbf·ft|lbf·in|mm|ml|°)(?!\w)")
CUT_CODE = re.compile(rf"(?<![\w-])[A-Z0-9][A-Z0-9.]*(?:-[A-Z0-9.]*)+{ELLIPSIS}")


def demo(engine: Engine) -> Iterator[tuple[str, Sheets]]:
    yield "booked", of_booking(engine, "PELL 117", BOOKED, "upper")
    yield "planned", of_plan(engine, "PELL 117", PLANNED)


def brakes(engine: Engine) -> Iterator[tuple[str, Sheets]]:
    load(engine, BRAKES.read_text("utf-8") + CAR)
    with seed_paths(TOOLS) as paths:
        load_tools(engine, paths)
    yield "planned", of_plan(engine, "KITE 1", ("FRONT", "REAR"))


def long_names(engine: Engine) -> Iterator[tuple[str, Sheets]]:
    load_sources(engine, long_catalogue())
    load_demo_lists(engine)
    yield from demo(engine)


Made = Callable[[Engine], Iterator[tuple[str, Sheets]]]
CASES: dict[str, tuple[str, Made]] = {
    "demo": ("garage", demo), "brakes": ("empty", brakes), "long": ("empty", long_names),
}  # fmt: skip

# Units, codes of rubbers, of reasons and of money, months and days as a locale shortens them,
# results as they are typed, and the reference of a rule that has no other.
SIGNS = frozenset(
    (
        "n·m mm ml l lbf·ft lbf·in in h g kg m c gbp nbr fkm epdm hnbr ptfe"
        " ct fl sw hd cr co sp th wn ot mo di mi do fr sa so apr feb"
        " passed failed renewed without look common practice"
    ).split()
)
# Words that say nothing of where they come from.
SMALL = frozenset("an and as at be by for from in is it no not of on or out the to up".split())
TOKEN = re.compile(r"[^\W\d_]+(?:·[^\W\d_]+)*|[^\w\s]|\d+")
# What a table cites stays as it is published.
COMPATIBILITY = Path(str(files("kitting.facts"))) / "compatibility.csv"
# Sheets that are held to it.
HELD = ("pick", "removal", "findings", "strip", "seals", "refit")


class Printed:
    """What was drawn of a catalogue, each sheet once in each language and on each paper."""

    def __init__(self, engine: Engine, made: Made) -> None:
        self.made = dict(made(engine))
        self.drawn = cache(self._drawn)
        with reading(engine) as session:
            self.codes = [code for code in session.scalars(select(Item.code)) if "-" in code]

    def _drawn(self, which: str, name: str, paper: str, language: str) -> bytes:
        with _told_in(language):
            return self.made[which].sheet(name, paper)

    def sheets(self, language: str, paper: str = "A4") -> Iterator[tuple[str, bytes]]:
        """Every sheet with what it is called."""
        for which, sheets in self.made.items():
            for name in sheets.sheets:
                yield f"{which} {name}", self.drawn(which, name, paper, language)

    def labels(self, key: str, language: str) -> Iterator[bytes]:
        """The labels on a stock that has room for them."""
        for sheets in self.made.values():
            with _told_in(language):
                pdf = sheets.labels(STOCKS[key])
            if pdf is not None:
                yield pdf


def _told_in(language: str) -> AbstractContextManager[None]:
    return speaking(pseudo()) if language == "longer" else nullcontext()


@pytest.fixture(scope="module", params=CASES)
def printed(
    request: pytest.FixtureRequest, templates: Templates, tmp_path_factory: pytest.TempPathFactory
) -> Iterator[Printed]:
    template, made = CASES[request.param]
    folder = tmp_path_factory.mktemp(request.param)
    for engine in opened_database(templates, "sqlite", template, folder):
        yield Printed(engine, made)


def text_of(pdf: bytes) -> str:
    """The text of all pages, ends of lines read as blanks."""
    return " ".join(" ".join(page.get_textpage().get_text_range().split()) for page in opened(pdf))


def bare(text: str) -> str:
    """A text without blanks, each decimal sign a point, units as they stand in English."""
    return "".join(text.split()).replace(",", ".").translate(UNITS)


@pytest.mark.parametrize("language", ["English", "longer"])
@pytest.mark.parametrize("paper", PAPERS)
def test_nothing_leaves_the_margins_and_no_lines_overlap(
    printed: Printed, paper: str, language: str
) -> None:
    for name, pdf in printed.sheets(language, paper):
        try:
            require_clear(pdf, *PAPERS[paper])
        except AssertionError as error:
            raise AssertionError(f"{name}, {paper}, {language}: {error}") from error


@pytest.mark.parametrize("language", ["English", "longer"])
@pytest.mark.parametrize("key", LABELS)
def test_labels_keep_their_edges_and_figures_are_large_enough_to_copy(
    printed: Printed, key: str, language: str
) -> None:
    for pdf in printed.labels(key, language):
        for page in characters(pdf):
            assert all(box.size >= 7 - 0.01 for box in page if box.text.isdecimal())
        for boxes in lines(pdf):
            for number, one in enumerate(boxes):
                assert one.inside(0, 0, STOCKS[key].page_width, STOCKS[key].page_height)
                assert not any(one.overlaps(other, by=0.3) for other in boxes[:number]), one


def test_no_figure_and_no_code_is_lost_where_texts_are_longer(printed: Printed) -> None:
    longer = dict(printed.sheets("longer"))
    held = 0
    for name, pdf in printed.sheets("English"):
        text, told = text_of(pdf), bare(text_of(longer[name]))
        # Where people measure in metres no pounds stand beside newton metres.
        figures = (one for one in FIGURE.findall(text) if "lbf" not in one)
        for figure, often in Counter(map(bare, figures)).items():
            held += often
            assert told.count(figure) >= often, (name, figure)
        for code in printed.codes:
            if code in text:
                held += 1
                assert bare(code) in told, (name, code)
    assert held > 150


@pytest.mark.parametrize("language", ["English", "longer"])
def test_a_code_is_never_cut(printed: Printed, language: str) -> None:
    for name, pdf in printed.sheets(language):
        assert not CUT_CODE.findall(text_of(pdf)), name


def test_no_line_is_so_thin_that_it_vanishes_when_copied(printed: Printed) -> None:
    drawn = 0
    for name, pdf in printed.sheets("English"):
        for page in opened(pdf):
            for thing in page.get_objects(filter=[pypdfium2.raw.FPDF_PAGEOBJ_PATH]):
                line = ctypes.c_float()
                assert pypdfium2.raw.FPDFPageObj_GetStrokeWidth(thing, line)
                drawn += 1
                assert line.value >= THINNEST - 0.01, (name, line.value)
    assert drawn > 100


@cache
def words_of_data() -> frozenset[str]:
    """Every word of the demo's files and of the first own job: nobody translates them."""
    with seed_paths((*FILES, *TOOLS, *STOCK)) as paths:
        texts = [path.read_text("utf-8") for path in (*paths, BRAKES, COMPATIBILITY)]
    return frozenset(re.findall(r"[^\W\d_]+", " ".join(texts).casefold()))


def unmarked(text: str, data: frozenset[str]) -> Iterator[str]:
    """Runs of words without an accent that the data do not have, or only of small words.

    A code with a figure among its letters is no word.
    """
    run: list[str] = []
    for token in [*TOKEN.findall(re.sub(r"[A-Za-z]*\d[A-Za-z0-9]*", "1", text)), "."]:
        if token[0].isalpha() and (token.isascii() or token in SIGNS):
            run.append(token.casefold())
        elif not token[0].isdigit():
            told = [word for word in run if word not in SIGNS and len(word) > 1]
            if told and (set(told) <= SMALL or not set(told) <= data | SMALL):
                yield " ".join(run)
            run = []


def test_what_has_no_accent_in_another_language_is_data() -> None:
    data = frozenset({"ring", "the"})
    assert list(unmarked("ŘÍŇĜ ring K7A2BC4 8,5 N·m, ňóť left ŘÍŇĜ", data)) == ["left"]
    assert list(unmarked("šééň of ťĥé ring", data)) == ["of"]


@pytest.mark.parametrize("printed", ["demo", "brakes"], indirect=True)
def test_nothing_of_the_program_is_told_without_being_marked(printed: Printed) -> None:
    for name, pdf in printed.sheets("longer"):
        if name.split()[1] in HELD:
            found = {*unmarked(text_of(pdf), words_of_data())}
            assert not found, (name, found)
