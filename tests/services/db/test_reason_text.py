"""Reasons that are recorded: read again as they were written, whatever was written before."""

from __future__ import annotations

from importlib import import_module
from pkgutil import iter_modules

import pytest

from kitting import facts
from kitting.calc.rubber.compatibility import Lubricated, Touching, judge_contacts
from kitting.facts.doubt_reasons import DoubtReason
from kitting.facts.plan_reasons import ContactPlace
from kitting.facts.reasons import ReasonCode, because
from kitting.services.db.reason_text import reason_as_text, reason_of_text
from kitting.wording.reasons import say


def codes() -> list[ReasonCode]:
    """Every code of every list of reasons in `kitting.facts`."""
    modules = [import_module(f"kitting.facts.{one.name}") for one in iter_modules(facts.__path__)]
    lists = {
        found
        for module in modules
        for found in vars(module).values()
        if isinstance(found, type) and issubclass(found, ReasonCode)
    }
    return [code for kind in sorted(lists, key=lambda kind: kind.__name__) for code in kind]


def test_whatever_is_told_within_a_reason_is_read_again() -> None:
    for code in codes():
        reason = because(DoubtReason.MAY_COME, item="RING", why=because(code))
        assert reason_of_text(reason_as_text(reason)) == reason, code


def test_a_contact_that_was_recorded_reads_as_it_did() -> None:
    touching = Touching("EPDM", lubricants=(Lubricated("MINERAL", "petroleum-grease"),))
    (contact,) = judge_contacts(touching)
    reason = because(
        ContactPlace.ON_RUBBER_INSTEAD,
        rubber="EPDM",
        what="MINERAL",
        position="p1",
        item="EPDM-20",
        why=contact.because,
        instead=("SOAP", "SILICONE"),
    )
    read = reason_of_text(reason_as_text(reason))
    assert read is not None
    assert (read.code, say(read)) == (reason.code, say(reason))
    assert say(read).endswith("Instead: SOAP or SILICONE")


@pytest.mark.parametrize(
    "text",
    [
        "MINERAL on EPDM at p1 (EPDM-20): not suitable",
        "[]",
        "12",
        '{"of": "Rule", "code": "renew", "values": {}}',
        '{"of": "ContactPlace", "code": "no such code", "values": {}}',
    ],
)
def test_a_sentence_of_an_older_program_is_no_reason(text: str) -> None:
    assert reason_of_text(text) is None
