"""Sheets of tools, tightening and refit as they are printed: of a plan, of a booking."""

from __future__ import annotations

from pathlib import Path

import pytest
from commands import Run
from paper import characters, words

NOW = ("--now", "2026-04-02 14:20")
ON = ("--on", "2026-04-15")
DONE, USAGE, NOT_FINE = 0, 2, 3
COUNTED = (
    "rear-pipe-heater=1", "rear-pipe-pump=1", "coolant-drain=1", "intake=5",
)  # fmt: skip


def read(folder: Path, name: str) -> str:
    """All characters of a sheet."""
    return "".join(map(words, characters((folder / name).read_bytes())))


@pytest.mark.parametrize("sheet", ["tools", "tighten", "refit"])
def test_a_sheet_of_a_booking_has_its_number_and_name(
    run: Run, garage_folder: Path, sheet: str
) -> None:
    now = () if sheet == "tools" else NOW
    told = run("sheet", sheet, "--booking", "B0001", *now)
    assert told.code in (DONE, NOT_FINE), told.err
    text = read(garage_folder, f"{sheet}-B0001.pdf")
    assert "B0001·kit" in text
    assert "LEFTOFF" not in text


@pytest.mark.parametrize("sheet", ["tools", "refit"])
def test_neither_a_car_nor_a_booking_or_both_is_refused(run: Run, sheet: str) -> None:
    for asked in ((), ("PELL 117",), ("PELL 117", "J1", "--booking", "B0001")):
        assert run("sheet", sheet, *asked).code == USAGE


def test_the_refit_sheet_is_withheld_while_a_count_of_old_seals_differs(
    run: Run, garage_folder: Path
) -> None:
    assert run("count", "B0001", *COUNTED[:-1], "intake=4").code in (DONE, NOT_FINE)
    told = run("sheet", "refit", "--booking", "B0001", *NOW)
    assert told.code != DONE
    assert "the tightening and refit sheets are withheld" in told.err
    assert not (garage_folder / "refit-B0001.pdf").exists()


def test_what_a_booking_is_short_of_is_told_at_its_bags(run: Run, garage_folder: Path) -> None:
    assert run("book", "PELL 117", "J1", "J2", *ON, "--branch", "upper", *NOW).code == NOT_FINE
    told = run("sheet", "refit", "--booking", "B0002", *NOW)
    assert (told.code, "lines are short (see the bags on the sheet)" in told.err) == (
        NOT_FINE,
        True,
    )
    text = read(garage_folder, "refit-B0002.pdf")
    assert "SHORTforthisbag:2×SEAL-INTAKE" in text


@pytest.mark.parametrize(
    ("jobs", "code"), [(("PELL 117", "J7"), NOT_FINE), (("PELL 042", "J2"), NOT_FINE),
                       (("PELL 117", "J6"), DONE)],
)  # fmt: skip
def test_the_tool_check_ends_on_paper_as_it_does_on_the_screen(
    run: Run, garage_folder: Path, jobs: tuple[str, ...], code: int
) -> None:
    del garage_folder
    assert run("sheet", "tools", *jobs, *ON).code == run("toolbox", "check", *jobs, *ON).code
    assert run("sheet", "tools", *jobs, *ON).code == code


def test_the_codes_of_the_refit_sheet_are_those_of_the_labels(
    run: Run, garage_folder: Path
) -> None:
    assert run("sheet", "refit", "PELL 117", "J1", *ON, "--out", "refit.pdf").code == NOT_FINE
    assert run("sheet", "labels", "PELL 117", "J1", *ON, "--out", "labels.pdf").code == DONE
    refit, labels = read(garage_folder, "refit.pdf"), read(garage_folder, "labels.pdf")
    kit = refit[refit.index("kitK") + 3 :][:8]
    for bag in range(1, 5):
        assert f"{kit}-0{bag}" in refit
        assert f"{kit}-0{bag}" in labels


@pytest.mark.parametrize("sheet", ["removal", "findings"])
def test_a_sheet_that_only_bookings_have_takes_its_booking_as_the_others_do(
    run: Run, garage_folder: Path, sheet: str
) -> None:
    first = run("sheet", sheet, "B0001", "--out", "a.pdf", *NOW)
    assert run("sheet", sheet, "--booking", "B0001", "--out", "b.pdf", *NOW).code == first.code
    for wrong in ((), ("B0001", "--booking", "B0001")):
        refused = run("sheet", sheet, *wrong)
        assert refused.code == 2
        assert "name one booking" in refused.err
