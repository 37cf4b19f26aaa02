"""Compiling the catalogues of texts when the program is built: Babel turns each .po into a .mo.

Only the build uses this: `[tool.setuptools.cmdclass]` in pyproject.toml names it.
"""

from __future__ import annotations

from pathlib import Path

from babel.messages.mofile import write_mo
from babel.messages.pofile import read_po
from setuptools.command.build_py import build_py

HERE = Path(__file__).parent


def compile_catalogues(folder: Path) -> list[Path]:
    """Write a .mo beside every .po below a folder; returns what was written.

    Entries that a person has still to look at (fuzzy) are left out.
    """
    written = []
    for source in sorted(folder.glob("*/LC_MESSAGES/*.po")):
        with source.open("rb") as text:
            catalogue = read_po(text, locale=source.parts[-3])
        target = source.with_suffix(".mo")
        with target.open("wb") as compiled:
            write_mo(compiled, catalogue)
        written.append(target)
    return written


class BuildWithCatalogues(build_py):
    """The ordinary build, after the catalogues are compiled."""

    def run(self) -> None:
        """Compile, then build."""
        compile_catalogues(Path.cwd() / "kitting" / "languages")
        # What is data of a package was listed before there were compiled catalogues.
        self.__dict__.pop("data_files", None)
        super().run()
