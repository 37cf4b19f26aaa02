"""What the commands that print share: paper, and writing a sheet to its file."""

from __future__ import annotations

from io import BytesIO
from pathlib import Path
from typing import Annotated

import typer

from kitting.cli.options import remark, write_file
from kitting.wording.language import _

Paper = Annotated[str, typer.Option("--paper", help="A4 or Letter.")]


def keep(path: Path, target: BytesIO) -> None:
    """Write a sheet whole, and say where."""
    write_file(path, target.getvalue())
    remark(_("wrote {path}", path=path))
