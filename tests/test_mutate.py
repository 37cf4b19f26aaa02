"""Mutation testing finds what a test does not notice, and nothing else."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import pytest

pytest.importorskip("cosmic_ray", reason="of the dev extra")

from mutate import command
from mutate.command import Equivalent, module_of, read_equivalents, unlisted
from mutate.mutations import mutations

TESTS = Path(__file__).parent
TINY = """\
from __future__ import annotations

LIMIT = 3


class Shelf:
    def __init__(self, pieces: int | None = None) -> None:
        self.pieces = pieces or 0

    @property
    def over(self) -> bool:
        return self.pieces > LIMIT


def first(codes: list[str], known: set[str]) -> str | None:
    for code in codes:
        if code in known:
            return code
    return None
"""
TESTED = """\
from tiny import Shelf, first


def test_more_than_the_limit_is_over() -> None:
    assert Shelf(4).over
    assert not Shelf(2).over
    assert Shelf().pieces == 0


def test_the_first_known_code_is_found() -> None:
    assert first(["a", "b"], {"b"}) == "b"
    assert first(["a"], set()) is None
"""
SURVIVED = """\
tiny:3 survived
--- tiny.py
+++ tiny.py
@@ -1,5 +1,5 @@
 from __future__ import annotations

-LIMIT = 3
+LIMIT = 2



tiny:12 survived
--- tiny.py
+++ tiny.py
@@ -10,5 +10,5 @@
     @property
     def over(self) -> bool:
-        return self.pieces > LIMIT
+        return self.pieces >= LIMIT



"""
EQUIVALENT = """\
[[equivalent]]
module = "tiny"
was = "{}"
became = "return self.pieces >= LIMIT"
reason = "for this test"
"""


def run(folder: Path, *words: str) -> subprocess.CompletedProcess[str]:
    (folder / "tiny.py").write_text(TINY, encoding="utf-8")
    (folder / "test_tiny.py").write_text(TESTED, encoding="utf-8")
    return subprocess.run(
        [sys.executable, str(TESTS / "mutate"), "tiny", "--tests", "test_tiny.py", *words],
        cwd=folder, env=os.environ | {"PYTHONPATH": str(folder)},
        capture_output=True, text=True, check=False,
    )  # fmt: skip


def test_what_no_test_notices_is_printed_with_its_place_and_patch(tmp_path: Path) -> None:
    ended = run(tmp_path)
    *patches, end = (f"{line.rstrip()}\n" for line in ended.stdout.splitlines())
    assert "".join(patches) == SURVIVED
    assert end.startswith("tiny: ")
    assert end.endswith(" noticed, 2 survived, 0 known to change nothing\n")
    assert ended.returncode == 3
    assert (tmp_path / "tiny.py").read_text(encoding="utf-8") == TINY


def test_what_is_listed_as_equivalent_is_not_asked(tmp_path: Path) -> None:
    listed = tmp_path / "some.toml"
    listed.write_text(EQUIVALENT.format("return self.pieces > LIMIT"), encoding="utf-8")
    ended = run(tmp_path, "--equivalents", "some.toml")
    assert "tiny:12" not in ended.stdout
    assert ended.stdout.endswith(" noticed, 1 survived, 1 known to change nothing\n")
    assert ended.returncode == 3


def test_an_entry_that_matches_nothing_is_an_error(tmp_path: Path) -> None:
    listed = tmp_path / "some.toml"
    listed.write_text(EQUIVALENT.format("return self.pieces < LIMIT"), encoding="utf-8")
    ended = run(tmp_path, "--equivalents", "some.toml")
    assert ended.returncode == 2
    assert ended.stdout == (
        "tiny: no mutation makes 'return self.pieces >= LIMIT' of 'return self.pieces < LIMIT'."
        " Take the entry out\n"
    )


def test_tests_that_fail_without_a_mutation_are_an_error(tmp_path: Path) -> None:
    (tmp_path / "test_red.py").write_text("def test_red() -> None:\n    assert 1 == 2\n")
    ended = run(tmp_path, "--tests", "test_red.py")
    assert ended.returncode == 2
    assert "assert 1 == 2" in ended.stdout
    assert "tiny: its tests fail without any mutation" in ended.stdout


def test_annotations_are_left_alone_and_each_change_is_made_once() -> None:
    found = mutations(TINY)
    assert len({mutation.code for mutation in found}) == len(found)
    assert {mutation.line for mutation in found} == {3, 8, 12, 16, 17}
    assert {mutation.inside for mutation in found} == {
        None, "Shelf.__init__", "Shelf.over", "first",
    }  # fmt: skip
    assert "if code not in known:" in {mutation.became for mutation in found}


def test_a_reason_is_required(tmp_path: Path) -> None:
    path = tmp_path / "some.toml"
    path.write_text(EQUIVALENT.format("x").replace("for this test", " "), encoding="utf-8")
    with pytest.raises(ValueError, match="'x' has no reason"):
        read_equivalents(path)


def test_an_entry_of_another_module_is_none_of_this_one() -> None:
    found = mutations(TINY)
    assert unlisted("tiny", found, [Equivalent("other", "x", "y", "why")]) == found


def test_a_module_is_named_by_its_path_too_and_its_mirror_is_tried_first() -> None:
    assert module_of("kitting/calc/planning/access.py") == "kitting.calc.planning.access"
    assert module_of("reports/labels/labels.py") == "kitting.reports.labels.labels"
    near, *_ = command.tests_of("kitting.calc.planning.access")
    assert near == [TESTS / "calc" / "planning" / "test_access.py"]
