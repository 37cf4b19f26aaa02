"""Where words go on a screen of few letters."""

from __future__ import annotations

import sys
from io import BytesIO, TextIOWrapper

import pytest

from kitting.cli.screen import guarded


@pytest.mark.parametrize("errors", ["strict", "surrogateescape"])
def test_a_letter_that_the_screen_lacks_is_a_question_mark(
    monkeypatch: pytest.MonkeyPatch, errors: str
) -> None:
    # In locale C a stream lets odd bytes through and refuses letters that it lacks (PEP 538, 540).
    written = BytesIO()
    stream = TextIOWrapper(written, encoding="ascii", errors=errors)
    monkeypatch.setattr(sys, "stdout", stream)
    with guarded():
        print("■ renew")
    stream.flush()
    assert (written.getvalue(), stream.errors) == (b"? renew\n", errors)
