"""The documents cannot drift: outputs, commands, keys and file names in them are checked."""

from __future__ import annotations

import re
from pathlib import Path

from docs_readme import README, ROOT, fresh

from kitting.cli.main import COMMANDS

TEXT = README.read_text(encoding="utf-8")


def test_every_output_in_the_readme_is_what_the_command_prints_now() -> None:
    assert fresh(TEXT) == TEXT


def test_every_command_is_in_the_readme() -> None:
    names = [name for names in COMMANDS.values() for name in names]
    assert "plan" in names
    for name in names:
        assert f"kitting {name}" in TEXT, name


def test_every_file_that_the_documents_link_to_exists() -> None:
    for document in ("README.md", "DEVELOPERS.md", "CHANGELOG.md"):
        text = (ROOT / document).read_text(encoding="utf-8")
        for target in re.findall(r"\]\(([^)#]+)\)", text):
            if "://" not in target:
                assert (ROOT / target).exists(), (document, target)


def test_every_file_that_the_developers_page_names_exists() -> None:
    text = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")
    for name in re.findall(r"`((?:kitting|reports|schema|seeds|tests)/[\w/.]+)`", text):
        assert (ROOT / name).exists(), name


def test_the_readme_begins_with_the_job_then_how_to_run_and_test_it() -> None:
    headings = re.findall(r"^## (.*)$", TEXT, re.MULTILINE)
    assert headings[:2] == ["Run it", "Test it"]
    first = TEXT.split("## Run it")[0].strip().splitlines()
    assert first[0] == "# kitting"


def test_nothing_points_out_of_the_project() -> None:
    banned = re.compile("/" + "work/|/" + r"home/\w+|\.\./" + "shared")
    for path in ROOT.rglob("*"):
        parts = path.relative_to(ROOT).parts
        if parts[0].startswith(".") or not path.is_file():
            continue
        if path.suffix in {".py", ".md", ".yaml", ".toml", ".csv", ".json", ".mako", ""}:
            try:
                text = path.read_text(encoding="utf-8")
            except UnicodeDecodeError:
                continue
            assert not banned.search(text), Path(*parts)
