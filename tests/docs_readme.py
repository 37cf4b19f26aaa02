"""The outputs in the README and in the guide: run every command, and write or compare what it prints.

Run `python tests/docs_readme.py` after a change: it writes the outputs, the tables that follow from
the program, and the pictures anew. `python tests/docs_readme.py ordering kit` does some pages only, `pictures` the pictures.

Each page begins with a fresh copy of the demo garage, or with an empty folder if it says so (EMPTY). What a page needs beyond that stands in a block marked `sh before`. An example in YAML is a
file of that garage, called as its first line says; one of a list is called as its block says. What a
block `text part` shows is kept by hand: lines of an output whose others depend on the machine.
"""

from __future__ import annotations

import os
import re
import shlex
import shutil
import sys
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from docs_made import with_tables
from processes import ended

ROOT = Path(__file__).parent.parent
README = ROOT / "README.md"
GUIDE = ROOT / "kitting" / "guide"
DOCUMENTS = (README, *sorted(GUIDE.glob("*.md")))
EMPTY = "<!-- in an empty folder -->"
_BLOCK = re.compile(r"```console\n(.*?)```", re.DOTALL)
_BEFORE = re.compile(r"```sh before\n(.*?)```", re.DOTALL)
_PART = re.compile(r"```text part\n\$ (.*?)\n(.*?)```", re.DOTALL)
_YAML = re.compile(r"```yaml\n(.*?)```", re.DOTALL)
_NAMED = re.compile(r"# (\S+\.yaml)\n")  # an example says in its first line what it is called
_LIST = re.compile(r"```csv (\S+)\n(.*?)```", re.DOTALL)
_UNNAMED = "my-engine.yaml"
_DEMO = "kitting-demo"
# How many lines of an output are worth showing; the rest is left out with a mark.
_SHOWN = {"plan": 44, "meanwhile": 30}
_SHORT = {
    'kitting plan "PELL 042" J1 J2 --on 2026-04-15': 17,
    'kitting kit show B0002 --now "2026-04-14 10:00"': 12,
    'kitting pick B0001 --now "2026-04-02 14:20" --json': 12,
}
ELSE = 24
LEFT_OUT = "[…]"


def run(command: str, folder: Path) -> str:
    """What a command prints, remarks included, at a width of 96."""
    with tempfile.NamedTemporaryFile() as told:
        ended(_run, shlex.split(command), folder, told.name)
        lines = Path(told.name).read_text(encoding="utf-8").splitlines()
    return "\n".join(line.rstrip() for line in lines)


def _run(words: list[str], folder: Path, told: str) -> None:
    """Be the program: in its folder, with its words, both outputs in one file."""
    from kitting.cli.main import main

    os.chdir(folder)
    os.environ |= {"KITTING_COLUMNS": "96", "NO_COLOR": "1"}
    os.environ.pop("KITTING_DATABASE_URL", None)
    sys.argv = words
    os.environ["COLUMNS"] = "96"
    file = os.open(told, os.O_WRONLY | os.O_APPEND)
    for stream, number in ((sys.stdout, 1), (sys.stderr, 2)):
        os.dup2(file, number)
        stream.reconfigure(encoding="utf-8", line_buffering=number == 2)  # type: ignore[union-attr]
    main()


def shown(command: str, output: str) -> str:
    """An output cut to what a page shows."""
    lines = output.splitlines()
    most = _SHORT.get(command, _SHOWN.get(shlex.split(command)[1], ELSE))
    if len(lines) <= most:
        return output
    return "\n".join([*lines[:most], LEFT_OUT])


def make_demo(parent: Path) -> Path:
    """Make the demo garage that pages begin with: its folder."""
    run(f"kitting demo {_DEMO}", parent)
    return parent / _DEMO


@contextmanager
def garage(demo: Path | None) -> Iterator[Path]:
    """A copy of the demo garage with the examples of all pages; without one, these alone."""
    with tempfile.TemporaryDirectory() as parent:
        folder = Path(parent) / _DEMO
        if demo is None:
            folder.mkdir()
        else:
            shutil.copytree(demo, folder)
        for name, example in examples().items():
            (folder / name).write_text(example, encoding="utf-8")
        yield folder


def examples() -> dict[str, str]:
    """The files that the pages show, by name."""
    found = {}
    for document in DOCUMENTS:
        text = document.read_text(encoding="utf-8")
        found |= dict(_LIST.findall(text))
        for example in _YAML.findall(text):
            named = _NAMED.match(example)
            found[named[1] if named else _UNNAMED] = example
    return found


def commands(block: str) -> list[str]:
    """The command lines of a block of a terminal."""
    return [line[2:] for line in block.splitlines() if line.startswith("$ ")]


def not_printed(text: str, demo: Path) -> list[str]:
    """The lines of blocks `text part` of a page that their commands do not print."""
    found = []
    for command, lines in _PART.findall(text):
        with garage(demo) as folder:
            printed = run(command, folder).splitlines()
        found += [line for line in lines.splitlines() if line not in (LEFT_OUT, *printed)]
    return found


def fresh(text: str, demo: Path) -> str:
    """A page with the outputs and tables of now; `demo` is the demo garage to begin with."""
    text = with_tables(text)
    if not _BLOCK.search(text):
        return text
    with garage(None if EMPTY in text else demo) as folder:
        for before in _BEFORE.findall(text):
            for command in before.splitlines():
                run(command, folder)

        def block(match: re.Match[str]) -> str:
            parts = []
            for command in commands(match[1]):
                output = shown(command, run(command, folder))
                parts.append(f"$ {command}\n{output}\n" if output else f"$ {command}\n")
            return f"```console\n{''.join(parts)}```"

        return _BLOCK.sub(block, text)


def main(asked: list[str]) -> None:
    """Write the pages of these topics anew, or everything."""
    with tempfile.TemporaryDirectory() as parent:
        demo = make_demo(Path(parent))
        for document in DOCUMENTS:
            if not asked or document.stem in asked:
                text = fresh(document.read_text(encoding="utf-8"), demo)
                document.write_text(text, encoding="utf-8", newline="\n")
        if not asked or "pictures" in asked:
            from docs_pictures import write_pictures

            write_pictures(demo)


if __name__ == "__main__":
    main(sys.argv[1:])
