"""What was done to a car before counts, every row of it, and only from its day."""

from __future__ import annotations

from typing import Any

from bench import FAULT, FINE, NOW, Bench

FIGURE = ("quantity: 4 each}", "quantity: 4 each, tightening: {stages: [8 N·m], thread: dry, source: invented}}")  # fmt: skip
NUTS = "branch,item,lot,quantity\nup,LN,L1,20 each\n"


def taken(plan: Any, position: str) -> dict[str, int]:
    """By rule, how many of a position."""
    found: dict[str, int] = {}
    for line in plan["lines"]:
        for place in line["positions"]:
            if place["position"] == position:
                found[line["rule"]] = found.get(line["rule"], 0) + place["quantity"]
    return found


def test_c6_a_second_refit_beyond_the_limit_needs_new_ones_for_certain(bench: Bench) -> None:
    bench.load("reset.yaml")
    plan = bench.plan("J")
    assert taken(plan, "ln1")["renew"] == 4
    assert sum(line["to_take"] for line in plan["lines"]) == 4
    assert {line["source"] for line in plan["lines"] if line["rule"] == "renew"} == {"history"}


def test_c6_closing_a_booking_is_a_refit_that_the_next_plan_knows(bench: Bench) -> None:
    bench.load(bench.changed("reset.yaml", FIGURE, (", times: 2", "")))
    bench.must("stock", "load", bench.write("nuts.csv", NUTS), *NOW)
    assert taken(bench.plan("J"), "ln1") == {"inspect": 4}
    number, booked = bench.book("J")
    assert booked.code == FINE
    bench.must("booking", "confirm", number, *NOW)
    bench.must("pick", number, *NOW)
    bench.must("booking", "ramp", number, *NOW)
    bench.must("findings", number, "j", "ln1", "passed", *NOW)
    bench.must("close", number, *NOW)
    after = bench.plan("J", on=("--on", "2026-05-15"))
    assert taken(after, "ln1") == {"renew": 4}
    assert after["lines"][0]["source"] == "history"


def test_c6_history_of_a_position_that_does_not_exist_is_refused(bench: Bench) -> None:
    refused = bench.run("load", "r2.yaml")
    assert refused.code == FAULT
    assert "r2.yaml:32: " in refused.err
    assert "'ln-1': unknown name. Did you mean ln1?" in refused.said
    assert "nothing was loaded" in refused.err


def test_c6_a_refit_before_uses_the_limit_up(bench: Bench) -> None:
    # The limit of ln1 is one refit, and it had one; ln0 has the same limit and had none; ln2 may
    # never go back; of ln3 nobody says a limit.
    bench.load("r1.yaml")
    plan = bench.plan("J")
    assert taken(plan, "ln0")["renew"] < taken(plan, "ln1")["renew"]
    assert taken(plan, "ln2") == {"renew": 3}
    assert taken(plan, "ln3") == {"inspect": 1}


def test_c6_what_history_says_of_a_later_day_is_not_done_yet(bench: Bench) -> None:
    bench.load("r1.yaml")
    before = bench.plan("J")
    bench.load("r3.yaml")
    assert bench.plan("J")["lines"] == before["lines"]


def test_c16_two_cars_that_failed_at_one_position_on_one_day_are_two_findings(
    garage_bench: Bench,
) -> None:
    def learned() -> tuple[int, int]:
        (item,) = garage_bench.must("learned", "SEAL-COOLER-LATE", "--json").data
        return item["failed"], item["inspected"]

    failed, inspected = learned()
    assert garage_bench.must("findings", "--file", "f.csv", *NOW).out == "2 new findings\n"
    assert learned() == (failed + 2, inspected + 2)
    assert garage_bench.must("findings", "--file", "f.csv", *NOW).out == "0 new findings\n"
    assert learned() == (failed + 2, inspected + 2)
