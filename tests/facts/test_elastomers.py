"""Materials by code only; a colour or a trade name is not a material."""

from __future__ import annotations

import pytest

from kitting.errors import FigureError
from kitting.facts.elastomers import ELASTOMERS, PLASTICS, require_elastomer


@pytest.mark.parametrize(("written", "code"), [("FKM", "FKM"), ("fkm", "FKM"), (" Epdm ", "EPDM")])
def test_a_code_is_read_in_any_capitals(written: str, code: str) -> None:
    assert require_elastomer(written) == code


@pytest.mark.parametrize(
    ("written", "reason"),
    [
        (
            "HBNR",
            "'HBNR' is no elastomer code of ISO 1629. Write the one that the"
            " packet or its data sheet names: HNBR, NR, BR look like it, and each is a rubber of its"
            " own. A colour or a trade name is not a material",
        ),
        (
            "green",
            "'green' is no elastomer code of ISO 1629."
            " Write the one that the packet or its data sheet names, such as NBR. A colour or a"
            " trade name is not a material",
        ),
    ],
)
def test_what_is_no_code_is_refused_and_no_rubber_is_chosen(written: str, reason: str) -> None:
    with pytest.raises(FigureError) as caught:
        require_elastomer(written)
    assert str(caught.value) == reason


def test_the_plastic_among_the_codes_is_not_a_rubber() -> None:
    assert [code for code in ELASTOMERS if code in PLASTICS] == ["PTFE"]
