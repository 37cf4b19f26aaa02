"""How a command ends is told in the language; its exit code is the same in each."""

from __future__ import annotations

import pytest
from pseudo import pseudo, stretched

from kitting.cli.exit_codes import FAILED, ended
from kitting.errors import (
    FigureError,
    FileProblemsError,
    KittingError,
    Problem,
    StoreError,
    UnknownNameError,
)
from kitting.wording.language import speaking


@pytest.mark.parametrize("kind", [KittingError, FigureError, UnknownNameError, StoreError])
def test_an_error_is_told_in_the_language(
    kind: type[KittingError], capsys: pytest.CaptureFixture[str]
) -> None:
    def fail() -> None:
        raise kind("no lot {code!r}. Known: {known}", code="A", known="B")

    assert ended(fail) == FAILED
    assert capsys.readouterr().err == "kitting: no lot 'A'. Known: B\n"
    with speaking(pseudo()):
        assert ended(fail) == FAILED
    told = stretched("no lot {code!r}. Known: {known}").format(code="A", known="B")
    assert capsys.readouterr().err == f"kitting: {told}\n"


def test_faults_of_a_file_are_told_in_the_language(capsys: pytest.CaptureFixture[str]) -> None:
    def fail() -> None:
        raise FileProblemsError([Problem("a.csv", 2, "row", "it is empty", "Fill it in")])

    with speaking(pseudo()):
        assert ended(fail) == FAILED
    shown = capsys.readouterr().err.splitlines()[0]
    assert shown.endswith(f"row: {stretched('it is empty')}. {stretched('Fill it in')}")
