"""Reading YAML 1.2 that anybody may have written: every fault with its line, nothing unbounded.

A catalogue needs no tags, no entry inside itself and no depth to speak of; a file that uses them
is refused before anything is built from it. What the reader underneath stumbles over is a fault
of the file as well, never an error of the program.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from pathlib import Path
from typing import Any

from kitting.errors import Problem
from kitting.files.text_coding import SAVE_STEP, CodingError, coding_of, undecodable

DEEPEST = 64
_LONGEST = 10_000  # characters of one entry; the longest that means anything are 2,000
_DIGITS = 40
# How many entries anchors may add to those that are written. Without a bound, ten lines that name
# the line before ten times each make ten thousand million entries.
_MOST_REPEATED = 200_000
_SHOWN = 200
_FILE_STEP = "Check the path and that it is UTF-8 text"
_STEP = "Correct the YAML of the file"
_TAB = "a tab stands here, where YAML takes spaces only"
_TAB_STEP = "Put spaces in the place of tabs, as many as the lines beside it have"
_NUMBERS = ("tag:yaml.org,2002:int", "tag:yaml.org,2002:float")
_TIME, _TEXT = "tag:yaml.org,2002:timestamp", "tag:yaml.org,2002:str"
Fault = tuple[int, str, str, str]


def read_yaml(path: Path, most: int, split: str) -> tuple[Any, list[Problem]]:
    """The data of a YAML file of at most `most` bytes; either that, or what is wrong with it.

    Dictionaries and lists know their lines (`lc`). `split` says what to do with a larger file.
    """
    name = str(path)
    try:
        # A device states no size and does not end: more than is allowed is never asked for.
        with path.open("rb") as file:
            content = file.read(most + 1)
    except (OSError, ValueError) as error:
        reason = getattr(error, "strerror", None) or str(error)
        return None, [Problem(name, 0, "file", reason, _FILE_STEP)]
    if len(content) > most:
        return None, [Problem(name, 0, "file", f"larger than {most // 1024 // 1024} MiB", split)]
    try:
        text = content.decode(coding_of(content))
    except CodingError as error:
        return None, [Problem(name, 1, "file", str(error), SAVE_STEP)]
    except UnicodeDecodeError:
        line, reason = undecodable(path)
        return None, [Problem(name, line, "file", reason, SAVE_STEP)]
    return parse_yaml(name, text)


def parse_yaml(name: str, text: str) -> tuple[Any, list[Problem]]:
    """As `read_yaml`, from text; `name` stands in messages."""
    from ruamel.yaml import YAML
    from ruamel.yaml.error import MarkedYAMLError
    from ruamel.yaml.parser import Parser
    from ruamel.yaml.reader import ReaderError
    from ruamel.yaml.scanner import Scanner

    yaml = YAML(typ="rt")
    # Nothing is written back, so that comments need not be kept: the plain scanner drops them.
    yaml.Scanner, yaml.Parser = Scanner, Parser
    yaml.Composer, yaml.Constructor = _composer(), _constructor()
    try:
        return yaml.load(text), []
    except MarkedYAMLError as error:
        mark = error.problem_mark or error.context_mark
        line = mark.line + 1 if mark is not None else 0
        told = _short(error.problem or error.context)
        reason, step = (_TAB, _TAB_STEP) if "'\\t'" in told else (told, _STEP)
        return None, [Problem(name, line, "YAML", reason, step)]
    except ReaderError as error:
        line = len(text[: error.position + 1].splitlines())
        reason = f"the sign U+{error.character:04X} may not stand in YAML"
        return None, [Problem(name, line, "YAML", reason, "Take it out")]
    except _FaultsError as error:
        return None, [Problem(name, *fault) for fault in error.faults]


class _FaultsError(Exception):
    def __init__(self, faults: Sequence[Fault]) -> None:
        self.faults = faults
        super().__init__(faults)


def _short(reason: str | None) -> str:
    first = next(iter((reason or "").splitlines()), "")
    return f"{first[:_SHOWN]}{'…' * (len(first) > _SHOWN)}" or "it cannot be read"


def _composer() -> Any:
    """The composer of ruamel.yaml, with bounds on what a file may ask of it."""
    from ruamel.yaml.composer import Composer, ComposerError

    class Bounded(Composer):
        def __init__(self, loader: Any = None) -> None:
            super().__init__(loader)
            self.warn_double_anchors = False  # YAML lets a later anchor take the name of an earlier

        def compose_node(self, parent: Any, index: Any) -> Any:
            event = self.parser.peek_event()
            if getattr(event, "tag", None) is not None:
                reason = "a tag, which no such file needs: leave out '!' and its word"
                raise ComposerError(None, None, reason, event.start_mark)
            if self.depth >= DEEPEST:
                reason = f"entries within entries, more than {DEEPEST} deep"
                raise ComposerError(None, None, reason, event.start_mark)
            return super().compose_node(parent, index)

    return Bounded


def _constructor() -> Any:
    """The constructor of ruamel.yaml, which builds nothing from a file with faults."""
    from ruamel.yaml.constructor import RoundTripConstructor
    from ruamel.yaml.error import MarkedYAMLError

    stumbles = (ValueError, TypeError, LookupError, AttributeError, RecursionError)

    class Checked(RoundTripConstructor):
        def get_single_data(self) -> Any:
            try:
                return super().get_single_data()
            except MarkedYAMLError:
                raise
            except stumbles as error:
                # Raised over signs that are none: they are where the reader has got to.
                line = self.loader.reader.line + 1
                raise _FaultsError([(line, "YAML", _short(str(error)), _STEP)]) from error

        def construct_document(self, node: Any) -> Any:
            faults = sorted(_faults(node, self))
            if faults:
                raise _FaultsError(faults)
            return super().construct_document(node)

    return Checked


def _faults(root: Any, constructor: Any) -> Iterator[Fault]:
    """What cannot be built, or would be built without end: line, thing, reason, next step."""
    sizes: dict[int, int] = {}  # of each node, how many entries it stands for
    within: set[int] = set()
    waiting = [(root, False)]
    while waiting:
        node, done = waiting.pop()
        key, line = id(node), node.start_mark.line + 1
        if done:
            within.discard(key)
            sizes[key] = 1 + sum(sizes[id(part)] for part in _parts(node))
            if sizes[key] - len(sizes) > _MOST_REPEATED:
                reason = f"anchors repeat more than {_MOST_REPEATED:,} entries"
                yield line, "YAML", reason, "Write out what is meant, or split the file"
                return
        elif key in within:
            yield line, f"anchor {_short(node.anchor)!r}", "the entry holds itself", "Write it out"
            return
        elif key not in sizes:
            within.add(key)
            waiting.append((node, True))
            waiting += [(part, False) for part in _parts(node)]
            if isinstance(node.value, str):
                yield from _entry_faults(node, line, constructor)


def _parts(node: Any) -> list[Any]:
    if isinstance(node.value, str):
        return []
    if node.value and isinstance(node.value[0], tuple):
        return [part for pair in node.value for part in pair]
    return list(node.value)


def _entry_faults(node: Any, line: int, constructor: Any) -> Iterator[Fault]:
    if len(node.value) > _LONGEST:
        reason = f"longer than {_LONGEST:,} characters"
        yield line, f"text {node.value[:20]!r}…", reason, "Shorten it; is a quote missing?"
    elif node.tag in _NUMBERS and len(node.value) > _DIGITS:
        reason = f"a figure of more than {_DIGITS} signs"
        yield line, f"figure {node.value[:20]}…", reason, "Check it; put text in quotes"
    elif node.tag == _TIME:
        try:
            constructor.construct_yaml_timestamp(node)
        except (ValueError, OverflowError):
            if len(node.value) > len("2026-04-15"):
                yield line, f"date {node.value[:40]}", "no such time", "Correct this date"
            else:  # whose day it is, tells the check of shapes, which reads it as text
                node.tag = _TEXT


__all__ = ["DEEPEST", "parse_yaml", "read_yaml"]
