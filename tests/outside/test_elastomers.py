"""Codes of materials against ISO 1629 as used in ISO 2230:2002 (data/README.md)."""

from __future__ import annotations

from published import column

from kitting.facts.elastomers import ELASTOMERS, FROM_MEMORY, PLASTICS


def test_codes_and_names_are_the_published_ones() -> None:
    checked = {code: name for code, name in ELASTOMERS.items() if code not in FROM_MEMORY}
    assert column("elastomers.csv", "code", "name") == checked
    assert len(checked) == len(ELASTOMERS) - len(FROM_MEMORY)


def test_every_rubber_code_but_the_urethanes_ends_in_its_class_letter() -> None:
    # ISO 1629: M saturated carbon chain, O oxygen in the chain, Q silicone, R unsaturated chain,
    # U carbon, oxygen and nitrogen in the chain. From memory.
    rubbers = [code for code in ELASTOMERS if code not in PLASTICS]
    assert [code for code in rubbers if code[-1] not in "MOQRU"] == []
