"""Closing in words: what has to be asked, in a message and in the table."""

from __future__ import annotations

from kitting.views.closing import Ask, AskRow
from kitting.wording.figures import format_quantity
from kitting.wording.language import N_, _
from kitting.wording.reasons import register, say

register(
    {
        Ask.SPARE: (
            "{item}: {quantity:rounded} in the kit as spare, and nobody said what was found at"
            " {positions:, }. Back, or used?"
        ),
        Ask.EXTRA: "{item}: {quantity:rounded} drawn beyond the plan. Back, or used?",
        Ask.COUNTED: "{item}: {quantity:rounded} in the kit to be used up. How many came back?",
        Ask.MEASURED: "how much is left over? Nothing said: used up as planned",
        Ask.SEALS: "{expected} old seals expected: how many came out?",
        Ask.LOOK: "what was found? passed, failed: and why, or renewed without a look",
        Ask.WHY: "{quantity} not in the kit: why is it closed all the same?",
    }
)
# In the table the item and the amount stand in columns of their own.
_IN_TABLE = {
    Ask.EXTRA: N_("drawn beyond the plan: how many came back?"),
    Ask.COUNTED: N_("how many came back?"),
}


def ask_cells(row: AskRow) -> tuple[str, ...]:
    """The cells of a row of the table, without its answer."""
    amount = "" if row.in_kit is None else format_quantity(row.in_kit, row.unit or "each")
    place = ": ".join(text for text in (row.joint, row.position) if text)
    code = row.question.code
    text = _(_IN_TABLE[code]) if isinstance(code, Ask) and code in _IN_TABLE else say(row.question)
    return row.about, row.item or "", place, amount, text
