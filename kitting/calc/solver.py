"""HiGHS, the solver of mixed-integer programmes, opened without its banner."""

from __future__ import annotations

import os
import sys
from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

from kitting.errors import KittingError

if TYPE_CHECKING:
    import highspy


def new_model() -> highspy.Highs:
    """An empty model that is solved to a proven optimum and prints nothing.

    The solver writes its banner straight to file descriptor 1, where our answers go: that is
    turned away while the model is made.
    """
    import highspy

    sys.stdout.flush()
    saved, nowhere = os.dup(1), os.open(os.devnull, os.O_WRONLY)
    try:
        os.dup2(nowhere, 1)
        model = highspy.Highs()  # type: ignore[no-untyped-call]
    finally:
        os.dup2(saved, 1)
        os.close(saved)
        os.close(nowhere)
    model.setOptionValue("output_flag", False)
    model.setOptionValue("mip_rel_gap", 0.0)
    model.setOptionValue("mip_abs_gap", 0.0)
    return model


def total(terms: Sequence[Any]) -> Any:
    """The sum of variables or expressions as one expression (there must be at least one)."""
    first, *rest = terms
    return sum(rest, start=first * 1.0)


def prove(model: highspy.Highs, what: str) -> bool:
    """Solve; True with a proven optimum, False if nothing is feasible.

    Raises KittingError, naming `what` was asked, if the solver stops without either proof.
    """
    import highspy

    model.run()
    status = model.getModelStatus()
    if status == highspy.HighsModelStatus.kOptimal:
        return True
    if status in (
        highspy.HighsModelStatus.kInfeasible,
        highspy.HighsModelStatus.kUnboundedOrInfeasible,
    ):
        return False
    raise KittingError(
        "{what} could not be proven ({status}). Ask for less at once and try again",
        what=what,
        status=model.modelStatusToString(status),
    )
