"""A database and the files of `tests/cases`, worked on with the commands as a person does."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import Any

from commands import Ran, Run
from paper import characters, words

HERE = Path(__file__).parent / "cases"
CAR, ON = "C 1", ("--on", "2026-04-15")
NOW = ("--now", "2026-04-01 10:00")
FINE, FAULT, NOT_FINE = 0, 1, 3
# A yard and a supplier, for catalogues that have none.
SUPPLY = """
branches: [{code: up, name: Upper}]
suppliers: [{code: q, name: Q, cutoffs: ["12:00"], lead_days: 1, late_days: 2}]
"""


@dataclass(frozen=True)
class Bench:
    """The folder, and the commands run in it."""

    folder: Path
    run: Run

    def must(self, *words: str) -> Ran:
        """A command that has to end well."""
        ended = self.run(*words)
        assert ended.code == FINE, ended
        return ended

    def load(self, name: str) -> Ran:
        """Load a catalogue of the folder."""
        return self.must("load", name)

    def write(self, name: str, text: str) -> str:
        """Put a file into the folder; gives its name."""
        (self.folder / name).write_text(text, encoding="utf-8")
        return name

    def changed(self, name: str, *changes: tuple[str, str]) -> str:
        """Another version of a file of the folder; each text that changes is in it once."""
        text = (self.folder / name).read_text(encoding="utf-8")
        for old, new in changes:
            assert text.count(old) == 1, (old, text.count(old))
            text = text.replace(old, new)
        return self.write(f"changed-{name}", text)

    def plan(self, *jobs: str, on: tuple[str, str] = ON) -> Any:
        """A plan as data."""
        return self.run("plan", CAR, *jobs, *on, "--json").data

    def book(self, *jobs: str, car: str = CAR, on: tuple[str, str] = ON) -> tuple[str, Ran]:
        """The number of a new booking, and how booking it ended."""
        ended = self.run("book", car, *jobs, *on, "--branch", "up", "--again", *NOW)
        assert ended.code in (FINE, NOT_FINE), ended
        return ended.out.split()[0], ended

    def sure(self, *jobs: str) -> Any:
        """The completion chance as data."""
        return self.run("sure", CAR, *jobs, *ON, "--branch", "up", *NOW, "--json").data

    def check(self, *words: str, jobs: tuple[str, ...] = ("J",)) -> Checked:
        """The tool check of the box `b`, on paper and on the screen alike."""
        asked = (CAR, *jobs, *ON, "--box", "b", *words)
        ended = self.run("toolbox", "check", *asked)
        paper = self.run("sheet", "tools", *asked, "--out", "tools.pdf")
        assert paper.code == ended.code, (paper, ended)
        return Checked(ended, self.run("toolbox", "check", *asked, "--json").data["needs"])

    def sheet(self, *words_: str) -> tuple[Ran, str]:
        """How a sheet ended, and its text without blanks, its pages parted by form feeds."""
        ended = self.run("sheet", *words_, "--out", "sheet.pdf")
        pages = characters((self.folder / "sheet.pdf").read_bytes())
        return ended, "\f".join(words(page) for page in pages)


@dataclass(frozen=True)
class Checked:
    """A tool check: how it ended, and what it asked for."""

    ended: Ran
    needs: list[dict[str, Any]]

    def of(self, place: str) -> dict[str, dict[str, Any]]:
        """What is asked for at a place, by task; of several torques by their figure."""
        found = {}
        for need in self.needs:
            if f"j: {place}" in need["places"]:
                what = need["what"]
                figure = f" {what['torque']['figure']}" if what["torque"] else ""
                found[what["task"] + figure] = need
        assert found, place
        return found

    def states(self, place: str) -> dict[str, str]:
        """The state of everything that is asked for at a place."""
        return {task: need["state"] for task, need in self.of(place).items()}
