"""The command: `python tests/mutate MODULE… [--tests PATH]`: survivors, with file, line and patch.

A module is given by its dotted name or by its path in the repository. The file that mirrors it is
tried first; what that does not notice is tried with whatever else imports the module, unless
`--near` is said. What changes nothing that a test could see stands in `equivalents.toml` with the
reason. Ends with 3 if something survived.
"""

from __future__ import annotations

import argparse
import ast
import tomllib
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from importlib.util import find_spec
from pathlib import Path

from hypothesis import Phase, settings

from .mutations import Mutation, mutations
from .running import survivors

TESTS = Path(__file__).resolve().parent.parent
ROOT = TESTS.parent
EQUIVALENTS = Path(__file__).with_name("equivalents.toml")
SURVIVED = 3
# Folders of the repository that are installed under another name.
_FOLDERS = {"reports": "kitting.reports", "schema": "kitting.schema", "seeds": "kitting.seeds"}


@dataclass(frozen=True, slots=True)
class Equivalent:
    """A mutation that changes nothing that could be seen: the line before and after, and why."""

    module: str
    was: str
    became: str
    reason: str

    def matches(self, mutation: Mutation) -> bool:
        """Whether it is about that mutation."""
        return (self.was, self.became) == (mutation.was, mutation.became)


def read_equivalents(path: Path) -> list[Equivalent]:
    """The list; raises ValueError for an entry without a reason."""
    found = []
    for entry in tomllib.loads(path.read_text(encoding="utf-8")).get("equivalent", []):
        one = Equivalent(entry["module"], entry["was"], entry["became"], entry.get("reason", ""))
        if not one.reason.strip():
            raise ValueError(f"{one.module}: {one.was!r} has no reason. Write why nothing changes")
        found.append(one)
    return found


def module_of(text: str) -> str:
    """The dotted name of a module given by name or path."""
    if not text.endswith(".py"):
        return text
    path = Path(text).resolve().relative_to(ROOT) if Path(text).is_absolute() else Path(text)
    top, *rest = path.with_suffix("").parts
    return ".".join((_FOLDERS.get(top, top), *rest))


def tests_of(module: str) -> list[list[Path]]:
    """Where a module is tested: what mirrors it, or else its folder; then whatever imports it."""
    *folders, name = module.split(".")[1:]
    mirror = TESTS.joinpath(*folders)
    first = sorted(mirror.glob(f"test_{name}*.py"))
    importing = [path for path in sorted(TESTS.rglob("test_*.py")) if module in set(_imports(path))]
    near = first or sorted(mirror.glob("test_*.py"))
    return [some for some in (near, [path for path in importing if path not in near]) if some]


def _imports(path: Path) -> Iterator[str]:
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.ImportFrom) and node.module is not None:
            yield node.module
            yield from (f"{node.module}.{alias.name}" for alias in node.names)
        elif isinstance(node, ast.Import):
            yield from (alias.name for alias in node.names)


def unlisted(
    module: str, asked: Sequence[Mutation], listed: Sequence[Equivalent]
) -> list[Mutation]:
    """The mutations that are not equivalent; raises ValueError for an entry that matches none."""
    own = [one for one in listed if one.module == module]
    for one in own:
        if not any(one.matches(mutation) for mutation in asked):
            raise ValueError(
                f"{module}: no mutation makes {one.became!r} of {one.was!r}. Take the entry out"
            )
    return [mutation for mutation in asked if not any(one.matches(mutation) for one in own)]


def main(given: Sequence[str] | None = None) -> int:
    """Run it; 3 if something survived, 2 for a list that does not fit."""
    parser = argparse.ArgumentParser(prog="python tests/mutate", description=__doc__)
    parser.add_argument("modules", nargs="+", metavar="MODULE", help="dotted name or path")
    parser.add_argument("--tests", action="append", type=Path, help="instead; may be repeated")
    parser.add_argument("--near", action="store_true", help="only with what mirrors the module")
    parser.add_argument("--equivalents", type=Path, default=EQUIVALENTS, help="another list")
    asked = parser.parse_args(given)
    # The same examples for every mutation, and none made smaller: that a test fails is enough.
    settings.register_profile(
        "mutate",
        deadline=None,
        database=None,
        derandomize=True,
        phases=(Phase.explicit, Phase.generate),
    )
    settings.load_profile("mutate")
    lived = 0
    for text in asked.modules:
        try:
            module, listed = module_of(text), read_equivalents(asked.equivalents)
            tests = [asked.tests] if asked.tests else tests_of(module)
            lived += mutate(module, tests[:1] if asked.near else tests, listed)
        except (ValueError, RuntimeError) as error:
            print(error)
            return 2
    return SURVIVED if lived else 0


def mutate(module: str, tests: Sequence[Sequence[Path]], listed: Sequence[Equivalent]) -> int:
    """Mutate one module and print what survived all of its tests; how many that are."""
    spec = find_spec(module)
    if spec is None or spec.origin is None:
        raise ValueError(f"there is no module {module}. Name it as kitting.calc.planning.access")
    if not tests:
        raise ValueError(f"{module}: nothing tests it. Name the tests with --tests")
    path = Path(spec.origin)
    code = path.read_text(encoding="utf-8")
    every = mutations(code)
    lived = asked = unlisted(module, every, listed)
    for some in tests:
        lived = survivors(module, path, lived, some)
    for mutation in lived:
        print(f"{module}:{mutation.line} survived\n{mutation.diff(code, path.name)}\n")
    print(
        f"{module}: {len(asked)} mutations, {len(asked) - len(lived)} noticed, {len(lived)} survived,"
        f" {len(every) - len(asked)} known to change nothing",
        flush=True,
    )
    return len(lived)
