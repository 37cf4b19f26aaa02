"""Rules of the code that no other tool holds: packages, sizes, who looks into a sentence.

What broke a rule when it was made stands in its `KNOWN` set. An entry that no longer breaks it
fails too, so the sets can only shrink.
"""

from __future__ import annotations

import ast
import re
import tomllib
from collections.abc import Iterator
from pathlib import Path

import pytest

from kitting.cli.main import COMMANDS

ROOT = Path(__file__).parent.parent
PACKAGES = {"kitting": "kitting", "schema": "kitting.schema", "seeds": "kitting.seeds", "reports": "kitting.reports"}  # fmt: skip
# A folder of data alone, which is read as a package.
DATA = {"kitting.reports.fonts"}
LINES, PARAMETERS = 350, 6

KNOWN_LONG: frozenset[str] = frozenset()
KNOWN_WIDE: frozenset[str] = frozenset()
KNOWN_LOOSE: frozenset[str] = frozenset()
KNOWN_LOOKS: frozenset[str] = frozenset()
KNOWN_COMMANDS: frozenset[str] = frozenset()


def modules(*folders: str) -> list[Path]:
    return sorted(path for folder in folders for path in (ROOT / folder).rglob("*.py"))


def name_of(path: Path) -> str:
    return path.relative_to(ROOT).as_posix()


def where(path: Path, inside: str) -> str:
    return f"{name_of(path)}: {inside}" if inside else name_of(path)


def tree_of(path: Path) -> ast.Module:
    return ast.parse(path.read_text(encoding="utf-8"))


def named(tree: ast.AST, within: str = "") -> Iterator[tuple[str, ast.AST]]:
    """Every node with the dotted name of the function or class that it stands in."""
    for node in ast.iter_child_nodes(tree):
        if isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef | ast.ClassDef):
            inside = f"{within}.{node.name}".lstrip(".")
            yield inside, node
            yield from named(node, inside)
        else:
            yield within, node
            yield from named(node, within)


def agree(found: set[str], known: frozenset[str], told: str) -> None:
    """Nothing breaks the rule but what is known to, and all of that still does."""
    assert sorted(found - known) == [], told
    assert sorted(known - found) == [], "these keep to the rule now: take them out of the list"


def test_the_packages_that_are_installed_are_the_folders_that_are_packages() -> None:
    made = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))
    installed = made["tool"]["setuptools"]["packages"]
    folders = {
        ".".join((name, *path.parent.relative_to(ROOT / top).parts))
        for top, name in PACKAGES.items()
        for path in (ROOT / top).rglob("__init__.py")
    }
    assert set(installed) - DATA == folders
    assert len(installed) == len(folders) + len(DATA)
    mapped = made["tool"]["setuptools"]["package-dir"]
    assert {name: folder for name, folder in mapped.items() if (ROOT / folder).is_dir()} == mapped


def test_every_file_beside_the_modules_of_a_package_is_installed_with_it() -> None:
    made = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))
    told = made["tool"]["setuptools"]["package-data"]
    folders = {package: top for top, package in PACKAGES.items()}
    for package in made["tool"]["setuptools"]["packages"]:
        top = max((name for name in folders if f"{package}.".startswith(f"{name}.")), key=len)
        below = package.removeprefix(top).strip(".").replace(".", "/")
        for path in (ROOT / folders[top] / below).iterdir():
            if path.is_file() and path.suffix != ".py":
                assert any(path.match(pattern) for pattern in told.get(package, ())), path


def test_no_module_is_longer_than_350_lines() -> None:
    found = {
        name_of(path)
        for path in modules("kitting", "reports")
        if len(path.read_text(encoding="utf-8").splitlines()) > LINES
    }
    agree(found, KNOWN_LONG, f"longer than {LINES} lines: split it by what it is about")


def parameters(node: ast.FunctionDef | ast.AsyncFunctionDef) -> int:
    given = [*node.args.posonlyargs, *node.args.args, *node.args.kwonlyargs]
    return sum(one.arg not in ("self", "cls") for one in given)


def test_no_function_has_more_than_six_parameters() -> None:
    found = {
        where(path, inside)
        for path in modules("kitting", "reports")
        if not name_of(path).startswith("kitting/cli/")  # a command has as many as it has options
        for inside, node in named(tree_of(path))
        if isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef)
        and parameters(node) > PARAMETERS
    }
    agree(found, KNOWN_WIDE, f"more than {PARAMETERS} parameters: a request object says it better")


def loose(node: ast.AST) -> bool:
    """Whether a class is a dataclass that is not frozen, or takes a dictionary for each."""
    if not isinstance(node, ast.ClassDef):
        return False
    said = [ast.unparse(one) for one in node.decorator_list if "dataclass" in ast.unparse(one)]
    return any("frozen=True" not in one or "slots=True" not in one for one in said)


def test_what_calculations_and_facts_and_views_hand_on_cannot_be_altered() -> None:
    found = {
        where(path, inside)
        for path in modules("kitting/calc", "kitting/facts", "kitting/views")
        for inside, node in named(tree_of(path))
        if loose(node)
    }
    agree(found, KNOWN_LOOSE, "write @dataclass(frozen=True, slots=True)")


# Who reads text because text is what is given: standards' notations, files, the words of the
# database; and who only makes it: wording, the screen and the paper.
READERS = (
    "kitting/facts/", "kitting/files/", "kitting/cli/", "kitting/wording/", "kitting/store.py",
    "kitting/db_errors.py", "reports/",
)  # fmt: skip
ALLOWED = {
    "kitting/services/upkeep/audit.py: file_faults": "what SQLite says to its own check is text",
}
LOOKS = {"startswith", "endswith", "removeprefix", "removesuffix", "partition", "rpartition"}
PATTERNS = {
    "match",
    "fullmatch",
    "search",
    "sub",
    "subn",
    "split",
    "findall",
    "finditer",
    "compile",
}


def is_mark(node: ast.AST) -> bool:
    return (
        isinstance(node, ast.Constant)
        and isinstance(node.value, str)
        and not any(map(str.isalpha, node.value))
    )


def looks(node: ast.AST) -> bool:
    """Whether a node looks into a text: for its beginning or end, by a pattern, for words.

    A mark that parts a name, as in UNIT/CODE, is a notation and no word.
    """
    if isinstance(node, ast.Call) and isinstance(node.func, ast.Attribute):
        owner = node.func.value
        if isinstance(owner, ast.Name) and owner.id == "re":
            return node.func.attr in PATTERNS
        return node.func.attr in LOOKS and not all(is_mark(given) for given in node.args)
    if isinstance(node, ast.Compare) and isinstance(node.ops[0], ast.In | ast.NotIn):
        words = node.left
        return (
            isinstance(words, ast.Constant) and isinstance(words.value, str) and " " in words.value
        )
    return False


def test_nothing_that_decides_looks_into_a_sentence() -> None:
    found = {
        where(path, inside)
        for path in modules("kitting", "reports")
        if not name_of(path).startswith(READERS)
        for inside, node in named(tree_of(path))
        if looks(node)
    }
    assert set(ALLOWED) <= found, "an exception that nothing needs any more"
    agree(found - set(ALLOWED), KNOWN_LOOKS, "it decides by a text: let it ask an enum or a field")


@pytest.mark.parametrize(
    ("code", "is_one"),
    [
        ("text.startswith('HELD')", True),
        ("text.endswith(('a', 'b'))", True),
        ("re.fullmatch('a+', text)", True),
        ("'no lot' in text", True),
        ("'no lot' not in view.told", True),
        ("text.partition(' of ')", True),
        ("text.removesuffix(word)", True),
        ("name.partition('/')", False),
        ("'renew' in rules", False),
        ("code in codes", False),
        ("text.split(',')", False),
    ],
)
def test_what_looks_into_a_text_is_recognised(code: str, is_one: bool) -> None:
    assert looks(ast.parse(code, mode="eval").body) is is_one


NAMES = [name for names in COMMANDS.values() for name in names]
COMMAND = re.compile(rf"\bkitting (?:{'|'.join(NAMES)})\b")


def literals(tree: ast.Module) -> Iterator[tuple[str, str]]:
    """Every text of a module that is no docstring, with where it stands."""
    docstrings = {
        id(node.body[0].value)
        for _, node in [("", tree), *named(tree)]
        if isinstance(node, ast.Module | ast.ClassDef | ast.FunctionDef | ast.AsyncFunctionDef)
        and node.body
        and isinstance(node.body[0], ast.Expr)
    }
    for inside, node in named(tree):
        if (
            isinstance(node, ast.Constant)
            and isinstance(node.value, str)
            and id(node) not in docstrings
        ):
            yield inside, node.value


def test_only_the_command_line_names_its_commands() -> None:
    found = {
        where(path, inside)
        for path in modules("kitting", "reports")
        if not name_of(path).startswith("kitting/cli/")
        for inside, text in literals(tree_of(path))
        if COMMAND.search(text)
    }
    agree(found, KNOWN_COMMANDS, "a page serves it too: name the action, the command line words it")


def test_the_name_of_a_command_is_recognised_in_a_text_and_not_in_a_docstring() -> None:
    tree = ast.parse(
        '"""kitting plan"""\ndef f():\n    """kitting plan"""\n    g(f"{a}: kitting buy")'
    )
    assert [text for _, text in literals(tree) if COMMAND.search(text)] == [": kitting buy"]
    assert not COMMAND.search("kitting plans nothing")
