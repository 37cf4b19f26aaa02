"""Collect what is marked as a text into kitting/languages: `python tests/translations.py`.

Texts that are new in a language are left empty there for a person to fill in; what was taken out
of the code is taken out. `tests/wording/test_languages.py` holds that nothing is missing.
"""

from __future__ import annotations

import sys
from io import BytesIO
from pathlib import Path

from babel.messages.catalog import Catalog
from babel.messages.extract import extract_from_dir
from babel.messages.pofile import read_po, write_po

from kitting.languages.compiling import compile_catalogues

ROOT = Path(__file__).resolve().parent.parent
LANGUAGES = ROOT / "kitting" / "languages"
TEMPLATE = LANGUAGES / "kitting.pot"
KEYWORDS = {"_": None, "N_": None, "n_": (1, 2), "p_": ((1, "c"), 2)}
FOLDERS = ("kitting/wording", "kitting/cli", "reports")


def collected() -> Catalog:
    """Every marked text of the code, with the files that it stands in."""
    catalogue = Catalog(
        project="kitting", version="", charset="utf-8", header_comment="# Texts of kitting.",
        msgid_bugs_address="", fuzzy=False,
    )  # fmt: skip
    for folder in FOLDERS:
        found = extract_from_dir(ROOT / folder, method_map=[("**.py", "python")], keywords=KEYWORDS)
        for name, _line, text, comments, context in found:
            # Without line numbers: a line that moves is no change of a text.
            place = [(f"{folder}/{name}", 0)]
            catalogue.add(text, locations=place, auto_comments=comments, context=context)
    return catalogue


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
