"""Listing what is below its level."""

from __future__ import annotations

from pathlib import Path

from commands import Run


def test_the_command_lists_it_and_refuses_what_does_not_go_with_it(
    run: Run, garage_folder: Path
) -> None:
    run("pick", "B0001", "--now", "2026-04-02 14:20")
    told = run("stock", "list", "--low", "--branch", "upper", "--now", "2026-04-20 09:00")
    assert told.code == 0, told.err
    assert told.out.splitlines()[0].split() == [
        "branch", "item", "level", "free", "on", "the", "way", "missing",
    ]  # fmt: skip
    assert "NO LEVEL in upper, for want of a price: CLIP-CONNECTOR" in told.out
    for other in ("--held", "--expired", "--on-the-way"):
        refused = run("stock", "list", "--low", other)
        assert refused.code == 2
        assert "--low goes with items, --branch and --now only" in " ".join(refused.err.split())
