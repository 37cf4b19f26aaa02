"""The solver: silent, proven, and honest about what cannot be done."""

from __future__ import annotations

import pytest

from kitting.calc.solver import new_model, prove, total
from kitting.errors import KittingError


def test_nothing_is_printed_where_our_answers_go(capfd: pytest.CaptureFixture[str]) -> None:
    print("before")
    model = new_model()
    one, two = (model.addBinary(obj=cost) for cost in (3.0, 2.0))
    model.addConstr(total([one, two]) >= 1)
    assert prove(model, "a small thing")
    print("after")
    assert capfd.readouterr() == ("before\nafter\n", "")
    assert (model.val(one), model.val(two)) == (0, 1)


def test_the_banner_is_what_is_held_back(capfd: pytest.CaptureFixture[str]) -> None:
    # If the solver's own opening ever prints nothing, the detour in new_model can go.
    import highspy

    model = highspy.Highs()
    model.setOptionValue("output_flag", True)
    model.addBinary(obj=1.0)
    model.run()
    assert "HiGHS" in capfd.readouterr().out


def test_what_nothing_satisfies_is_answered_with_no() -> None:
    model = new_model()
    thing = model.addBinary(obj=1.0)
    model.addConstr(total([thing]) >= 2)
    assert prove(model, "the impossible") is False


def test_a_total_adds_what_it_is_given_once() -> None:
    model = new_model()
    first, second, third = (model.addBinary(obj=1.0) for _ in range(3))
    model.addConstr(total([first, second, third]) >= 2)
    model.addConstr(total([third]) <= 0)
    assert prove(model, "two of three")
    assert [model.val(v) for v in (first, second, third)] == [1, 1, 0]


def test_a_solver_that_stops_without_proof_says_of_what() -> None:
    model = new_model()
    unbounded = model.addVariable(lb=0.0, obj=-1.0)
    model.addConstr(unbounded >= 1)
    with pytest.raises(KittingError, match=r"the moon could not be proven \(Unbounded\)"):
        prove(model, "the moon")
