"""The README's console blocks: run every command, and write or compare what it printed.

Run `python tests/docs_readme.py` to write the outputs into README.md after a change.
"""

from __future__ import annotations

import os
import re
import shlex
import sys
import tempfile
from pathlib import Path

from processes import ended

ROOT = Path(__file__).parent.parent
README = ROOT / "README.md"
_BLOCK = re.compile(r"```console\n(.*?)```", re.DOTALL)
_YAML = re.compile(r"```yaml\n(.*?)```", re.DOTALL)
_NAMED = re.compile(r"# (\S+\.yaml)\n")  # an example says in its first line what it is called
# How many lines of an output are worth showing; the rest is left out with a mark.
_SHOWN = {"plan": 44, "meanwhile": 30}
_SHORT = {
    'kitting plan "PELL 042" J1 J2 --on 2026-04-15': 17,
    'kitting kit show B0002 --now "2026-04-14 10:00"': 12,
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
    file = os.open(told, os.O_WRONLY | os.O_APPEND)
    for stream, number in ((sys.stdout, 1), (sys.stderr, 2)):
        os.dup2(file, number)
        stream.reconfigure(encoding="utf-8", line_buffering=number == 2)  # type: ignore[union-attr]
    main()


def shown(command: str, output: str) -> str:
    """An output cut to what the README shows."""
    lines = output.splitlines()
    most = _SHORT.get(command, _SHOWN.get(shlex.split(command)[1], ELSE))
    if len(lines) <= most:
        return output
    return "\n".join([*lines[:most], LEFT_OUT])


def fresh(text: str) -> str:
    """The README with the outputs of now."""
    with tempfile.TemporaryDirectory() as parent:
        folder = Path(parent) / "kitting-demo"
        run("kitting demo kitting-demo", Path(parent))
        for example in _YAML.findall(text):
            named = _NAMED.match(example)
            name = named[1] if named else "my-engine.yaml"
            (folder / name).write_text(example, encoding="utf-8")

        def block(match: re.Match[str]) -> str:
            commands = [line[2:] for line in match[1].splitlines() if line.startswith("$ ")]
            parts = []
            for command in commands:
                output = shown(command, run(command, folder))
                parts.append(f"$ {command}\n{output}\n" if output else f"$ {command}\n")
            return f"```console\n{''.join(parts)}```"

        return _BLOCK.sub(block, text)


if __name__ == "__main__":
    README.write_text(fresh(README.read_text(encoding="utf-8")), encoding="utf-8")
