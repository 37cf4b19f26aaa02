"""Collect what is marked as a text into kitting/languages: `python tests/translations.py`.

Texts that are new in a language are left empty there for a person to fill in; what was taken out
of the code is taken out. `tests/wording/test_languages.py` holds that nothing is missing.
"""

from __future__ import annotations

import ast
import re
import sys
from collections.abc import Iterator, Mapping
from importlib import import_module
from io import BytesIO
from pathlib import Path
from pkgutil import iter_modules

from babel.messages.catalog import Catalog
from babel.messages.pofile import read_po, write_po
from ruamel.yaml import YAML
from typer.main import get_command

from kitting import errors, facts, views, wording
from kitting.cli.help import texts_of_help
from kitting.cli.main import app
from kitting.facts.elastomers import ELASTOMERS
from kitting.facts.reasons import ReasonCode
from kitting.facts.rubber_media import MEDIA
from kitting.facts.words import Word
from kitting.languages.compiling import compile_catalogues
from kitting.wording.cautions import own_words
from kitting.wording.elastomers import CONTEXT
from kitting.wording.figures import counted
from kitting.wording.language import CODES, GENERAL, context_of
from kitting.wording.reasons import texts_of_reasons

ROOT = Path(__file__).resolve().parent.parent
LANGUAGES = ROOT / "kitting" / "languages"
TEMPLATE = LANGUAGES / "kitting.pot"
_LETTERS = re.compile(r"[A-Za-z]{2}(?![^{}]*\})")
_COUNTED = re.compile(r"\{\w+:many ([^}]+)\}")
FOLDERS = ("kitting/wording", "kitting/cli", "reports")
# Messages of errors and faults are raised everywhere.
RAISING = ("kitting", "reports")
ERRORS = {"Message", "RefusedError", "TakenError", "_BeyondLineError"} | {
    name for name, kind in vars(errors).items()
    if isinstance(kind, type) and issubclass(kind, errors.KittingError)
} - {"FileProblemsError"}  # fmt: skip


def collected() -> Catalog:
    """Every text of the code, with the files that it stands in, without lines: they move."""
    catalogue = Catalog(
        project="kitting", version="", charset="utf-8", header_comment="# Texts of kitting.",
        msgid_bugs_address="", fuzzy=False,
    )  # fmt: skip
    for place, text, context in _marked():
        catalogue.add(text, context=context, locations=[(place, 0)])
    for text in _in_tables():
        catalogue.add(text, locations=[("kitting/wording", 0)])
        for noun in _COUNTED.findall(text):
            catalogue.add(counted(noun), locations=[("kitting/wording", 0)])
    for kind in _lists():
        for word in kind:
            catalogue.add(
                str(word), context=context_of(kind), locations=[(_path(kind.__module__), 0)]
            )
    for name in ELASTOMERS.values():
        catalogue.add(name, context=CONTEXT, locations=[("kitting/facts/elastomers.py", 0)])
    for text in texts_of_help(get_command(app)):
        catalogue.add(text, locations=[("kitting/cli/help", 0)])
    for medium in MEDIA.values():
        catalogue.add(
            medium.name, context=GENERAL, locations=[("kitting/facts/rubber_media.py", 0)]
        )
    for text in _of_general_rules():
        catalogue.add(text, context=GENERAL, locations=[("seeds/general.yaml", 0)])
    return catalogue


def _calls() -> Iterator[tuple[str, str, list[str]]]:
    """Every call with texts in it: file, what is called, and its texts in a row.

    Babel's own extraction does not look into f-strings before Python 3.12.
    """
    for folder in FOLDERS:
        for path in sorted((ROOT / folder).rglob("*.py")):
            place = path.relative_to(ROOT).as_posix()
            for node in ast.walk(ast.parse(path.read_text("utf-8"))):
                if isinstance(node, ast.Call) and isinstance(node.func, ast.Name):
                    texts = [one.value for one in node.args if isinstance(one, ast.Constant)]
                    yield place, node.func.id, [one for one in texts if isinstance(one, str)]


def _marked() -> Iterator[tuple[str, str | tuple[str, str], str | None]]:
    """Files with the texts that are marked in them, and the meaning where one is told."""
    for place, called, texts in _calls():
        if called in ("_", "N_") and texts:
            yield place, texts[0], None
        elif called == "n_" and len(texts) > 1:
            yield place, (texts[0], texts[1]), None
        elif called in ("p_", "NP_") and len(texts) > 1:
            yield place, texts[1], texts[0]
        elif called == "many" and texts:
            yield place, counted(*texts), None
    yield from ((place, text, None) for place, text in _of_errors())


def _of_errors() -> Iterator[tuple[str, str]]:
    """Files with the templates of messages in them: of errors, and what is said of a fault."""
    for folder in RAISING:
        for path in sorted((ROOT / folder).rglob("*.py")):
            place = path.relative_to(ROOT).as_posix()
            for node in ast.walk(ast.parse(path.read_text("utf-8"))):
                for one in said(node):
                    yield from ((place, text) for text in literals(one) if _LETTERS.search(text))


def said(node: ast.AST) -> list[ast.expr]:
    """Where the template of a message stands in a call; of a fault its reason and next step."""
    if not (isinstance(node, ast.Call) and isinstance(node.func, ast.Name)):
        return []
    if node.func.id in ERRORS:
        return node.args[:1]
    return node.args[3:5] if node.func.id == "Problem" else []


def literals(node: ast.expr) -> list[str]:
    """The texts that an expression may be: one, or one for each way of a condition."""
    if isinstance(node, ast.IfExp):
        return literals(node.body) + literals(node.orelse)
    return [node.value] if isinstance(node, ast.Constant) and isinstance(node.value, str) else []


def _in_tables() -> Iterator[str]:
    """Texts that stand in tables of the wording: of reasons, by word, in order."""
    yield from texts_of_reasons()
    for module in iter_modules(wording.__path__):
        for name, value in vars(import_module(f"kitting.wording.{module.name}")).items():
            if name in ("WORDED_IN", "__builtins__", "__all__", "__path__"):
                continue
            if isinstance(value, Mapping):
                yield from (text for text in value.values() if _is_text(text))
            elif isinstance(value, tuple) and name.isupper():
                yield from (text for text in value if _is_text(text))


def _is_text(value: object) -> bool:
    return isinstance(value, str) and not isinstance(value, Word) and len(value) > 1


def _lists() -> list[type[Word]]:
    """The fixed lists of words that are told, other than codes of reasons."""
    for package in (facts, views):
        for module in iter_modules(package.__path__):
            import_module(f"{package.__name__}.{module.name}")
    found = {kind for kind in _below(Word) if not issubclass(kind, ReasonCode)} - CODES
    return sorted(found, key=lambda kind: kind.__name__)


def _below(kind: type[Word]) -> Iterator[type[Word]]:
    for one in kind.__subclasses__():
        # Those of other parts are not told, and not always loaded.
        if one.__module__.startswith(("kitting.facts.", "kitting.views.")):
            yield one
            yield from _below(one)


def _path(module: str) -> str:
    return module.replace(".", "/") + ".py"


def _of_general_rules() -> Iterator[str]:
    """Names and texts of the words that come with the program."""
    general = YAML(typ="safe").load((ROOT / "seeds" / "general.yaml").read_text("utf-8"))
    for section in general.values():
        for entry in section:
            yield from (
                own_words(entry[key]) for key in ("name", "title", "text", "word") if key in entry
            )
            yield from (
                rule[key]
                for rule in entry.get("rules", ())
                for key in ("criterion", "reference")
                if key in rule
            )


def written(catalogue: Catalog) -> bytes:
    """A catalogue as a file, without the time at which it was made."""
    target = BytesIO()
    write_po(target, catalogue, sort_output=True, omit_header=False, include_lineno=False, width=96)
    lines = target.getvalue().decode().splitlines(keepends=True)
    dated = (
        '"Report-Msgid-Bugs-To',
        '"Language-Team',
        '"POT-Creation-Date',
        '"PO-Revision-Date',
        '"Last-Translator',
        '"Generated-By',
    )
    return "".join(line for line in lines if not line.startswith(dated)).encode()


def known(language: str) -> Catalog:
    """The catalogue of a language as it stands."""
    with (LANGUAGES / language / "LC_MESSAGES" / "kitting.po").open("rb") as source:
        return read_po(source, locale=language)


def main() -> int:
    """Bring the template and every language up to what the code says."""
    template = collected()
    TEMPLATE.write_bytes(written(template))
    for path in sorted(LANGUAGES.glob("*/LC_MESSAGES")):
        catalogue = known(path.parent.name)
        catalogue.update(template, no_fuzzy_matching=True)
        catalogue.obsolete.clear()
        (path / "kitting.po").write_bytes(written(catalogue))
    compile_catalogues(LANGUAGES)
    return 0


if __name__ == "__main__":
    sys.exit(main())
