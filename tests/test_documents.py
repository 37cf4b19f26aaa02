"""The documents cannot drift: outputs, tables, pictures, commands, keys and file names are checked."""

from __future__ import annotations

import csv
import re
from collections.abc import Iterator, Mapping
from pathlib import Path
from typing import Any

import pytest
import typer.main
from docs_made import without_tables
from docs_meant import MEANT
from docs_pictures import SHOWN, TOLERANCE, Picture, difference, drawn
from docs_readme import DOCUMENTS, GUIDE, README, ROOT, fresh, garage, make_demo, not_printed
from PIL import Image

from kitting.cli.main import app
from kitting.files.catalogue.document import Catalogue
from kitting.files.lists.closing import COLUMNS as CLOSING
from kitting.files.lists.deliveries import DELIVERY_FIELDS
from kitting.files.lists.findings import FINDING_FIELDS
from kitting.files.lists.findings import RAMP_FIELDS as FOUND_AT_THE_RAMP
from kitting.files.lists.price_cells import PRICE_FIELDS
from kitting.files.lists.ramps import RAMP_FIELDS, TECHNICIAN_FIELDS
from kitting.files.lists.stock import STOCK_FIELDS
from kitting.files.lists.tools import BOX_FIELDS, OFFER_FIELDS
from kitting.guide.pages import TOPICS, page, pages

TEXT = README.read_text(encoding="utf-8")
MOST_LINES = 250
LISTS: Mapping[str, Mapping[str, Any]] = {
    "Stock": STOCK_FIELDS,
    "Prices": PRICE_FIELDS,
    "Delivery notes": DELIVERY_FIELDS,
    "Findings": FINDING_FIELDS,
    "Findings at the ramp": FOUND_AT_THE_RAMP,
    "Ramps": RAMP_FIELDS,
    "Technicians": TECHNICIAN_FIELDS,
    "Tools": BOX_FIELDS,
    "Tools on offer": {key: OFFER_FIELDS[key] for key in OFFER_FIELDS if key not in BOX_FIELDS},
    "Closing": dict.fromkeys(CLOSING),
}


@pytest.fixture(scope="session")
def demo(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return make_demo(tmp_path_factory.mktemp("demo"))


@pytest.mark.parametrize("document", DOCUMENTS, ids=lambda path: path.stem)
def test_every_output_and_table_is_what_the_program_prints_now(document: Path, demo: Path) -> None:
    text = document.read_text(encoding="utf-8")
    assert fresh(text, demo) == text


def test_every_line_that_is_shown_of_a_longer_output_is_printed(demo: Path) -> None:
    shown = "".join(path.read_text(encoding="utf-8") for path in DOCUMENTS)
    assert "```text part\n$ kitting audit\n" in shown
    assert not_printed(shown, demo) == []
    other = shown.replace("balances           a lot", "balances           a log")
    assert len(not_printed(other, demo)) == 1


@pytest.mark.parametrize("document", DOCUMENTS, ids=lambda path: path.stem)
def test_no_command_of_a_page_is_misused(document: Path) -> None:
    text = document.read_text(encoding="utf-8")
    assert not re.search(r"^Usage: kitting|^(kitting: )?Error|^Traceback", text, re.MULTILINE)


@pytest.mark.parametrize("picture", SHOWN, ids=lambda picture: picture.name)
def test_every_picture_is_what_the_program_draws_now(picture: Picture, demo: Path) -> None:
    """But for a share of the dots that `TOLERANCE` states."""
    with garage(demo) as folder:
        now = drawn(picture, folder)
    assert difference(now, Image.open(picture.path)) <= TOLERANCE


def test_a_picture_that_moved_by_three_dots_or_changed_its_size_is_another() -> None:
    for picture in SHOWN:
        image = Image.open(picture.path).convert("L")
        moved = Image.new("L", image.size, 255)
        moved.paste(image, (0, 3))
        assert difference(moved, image) > TOLERANCE
        assert difference(image.crop((0, 0, image.width, image.height - 1)), image) == 1


def test_every_picture_is_shown_on_some_page() -> None:
    shown = {
        Path(target).name
        for document in DOCUMENTS
        for target in re.findall(r"!\[[^\]]*\]\(([^)]+)\)", document.read_text(encoding="utf-8"))
    }
    kept = {path.name for path in (ROOT / "reports" / "pictures").iterdir()}
    assert shown == kept == {picture.path.name for picture in SHOWN}


def leaves(command: Any, path: tuple[str, ...] = ()) -> Iterator[str]:
    if hasattr(command, "list_commands"):
        for name in command.list_commands(None):
            yield from leaves(command.get_command(None, name), (*path, name))
    else:
        yield " ".join(path)


def test_every_command_is_named_on_some_page() -> None:
    """By a person: a table that is made does not count."""
    told = " ".join(
        " ".join(without_tables(path.read_text(encoding="utf-8")).split()) for path in DOCUMENTS
    )
    commands = list(leaves(typer.main.get_command(app)))
    assert "booking handed-back" in commands
    assert [name for name in commands if f"kitting {name}" not in told] == []


def test_every_command_that_a_page_names_is_there() -> None:
    commands = set(leaves(typer.main.get_command(app)))
    groups = {name.split()[0] for name in commands if " " in name}
    for document in DOCUMENTS:
        text = document.read_text(encoding="utf-8")
        for first, second in re.findall(
            r"`kitting\s+(?:--language \S+ )?([a-z][a-z-]*)(?:\s+([a-z-]+))?", text
        ):
            name = f"{first} {second}" if first in groups and second else first
            assert name in commands | groups, (document.name, name)


def test_every_file_that_the_documents_link_to_exists() -> None:
    for document in (*DOCUMENTS, ROOT / "DEVELOPERS.md", ROOT / "CHANGELOG.md"):
        for target in re.findall(r"\]\(([^)#]+)\)", document.read_text(encoding="utf-8")):
            if "://" not in target:
                assert (document.parent / target).exists(), (document, target)


def test_every_file_that_the_developers_page_names_exists() -> None:
    text = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")
    for name in re.findall(r"`((?:kitting|reports|schema|seeds|tests)/[\w/.]+)`", text):
        assert (ROOT / name).exists(), name


def test_the_readme_is_short_and_begins_with_the_job_then_how_to_run_and_test_it() -> None:
    headings = re.findall(r"^## (.*)$", TEXT, re.MULTILINE)
    assert headings[:2] == ["Run it", "Test it"]
    lines = TEXT.splitlines()
    assert lines[0] == "# kitting"
    assert len(lines) <= MOST_LINES


def test_the_readme_links_to_every_page_of_the_guide() -> None:
    assert re.findall(r"\(kitting/guide/([\w-]+)\.md\) \|", TEXT) == list(TOPICS)


def test_times_in_the_readme_are_those_of_the_page_on_speed() -> None:
    rows = re.findall(r"^\| .* \| (?:met|MISSED) \|$", TEXT, re.MULTILINE)
    assert len(rows) > 3
    assert set(rows) <= set(page("speed").text.splitlines())


def test_every_page_begins_with_a_title_and_one_sentence_on_what_it_tells() -> None:
    assert {path.stem for path in GUIDE.glob("*.md")} == set(TOPICS)
    for one in pages():
        assert one.text.startswith("# ")
        assert re.fullmatch(r"[A-Z][^\n]*[^.]\.", one.about), one.topic
        assert ". " not in one.about


def test_every_page_links_to_pages_and_files_alone() -> None:
    """Only those are told otherwise by the program: a link into the web would be a dead end."""
    for one in pages():
        assert "://" not in re.sub(r"```.*?```|`[^`]*`", "", one.text, flags=re.DOTALL), one.topic


@pytest.mark.parametrize("heading", LISTS)
def test_the_page_on_files_has_every_column_of_every_list(heading: str) -> None:
    chapter = page("files").text.partition(f"\n### {heading}\n")[2].partition("\n#")[0]
    told = re.findall(r"^\| (\*\*)?`([^`]+)`(?:\*\*)? \|", chapter, re.MULTILINE)
    fields = LISTS[heading]
    assert [name for _, name in told] == list(fields)
    assert {name for bold, name in told if bold} == {
        name for name, field in fields.items() if field is not None and field.required
    }


def test_no_meaning_of_a_field_is_kept_that_its_shape_says_or_that_is_not_there() -> None:
    shapes = Catalogue.model_json_schema()["$defs"]
    silent = {
        (name, key)
        for name, shape in shapes.items()
        for key, of in shape.get("properties", {}).items()
        if not any("description" in one for one in (of, *of.get("anyOf", ())))
    }
    used = {f"{name}.{key}" if f"{name}.{key}" in MEANT else key for name, key in silent}
    assert set(MEANT) == used


def test_the_table_of_a_plan_has_every_key_at_its_top_and_none_that_no_plan_has() -> None:
    """Against the keys that a plan was seen to print, held by tests/cli/test_json_keys.py."""
    with (ROOT / "tests" / "cli" / "json_keys.csv").open(encoding="utf-8", newline="") as file:
        keys = [
            [part.removesuffix("[]") for part in row["key"].split(".")]
            for row in csv.DictReader(file)
            if row["command"].split()[0] == "plan"
        ]
    table = page("json").text.partition("\n## A plan\n")[2].partition("\n## ")[0]
    top = re.findall(r"^\| (`[^|]+) \|", table, re.MULTILINE)
    assert set(re.findall(r"`(\w+)`", " ".join(top))) == {first for first, *_ in keys}
    assert set(re.findall(r"`(\w+)`", table)) <= {part for key in keys for part in key}


def test_the_page_on_json_has_every_key_of_every_command() -> None:
    told = {
        command: set(re.findall(r"`([^`]+)`", keys))
        for commands, keys in re.findall(
            r"^\*\*(`kitting .*?)\*\*: (.*)$", page("json").text, re.MULTILINE
        )
        for command in re.findall(r"`kitting ([^`]+)`", commands)
    }
    with (ROOT / "tests" / "cli" / "json_keys.csv").open(encoding="utf-8", newline="") as file:
        for row in csv.DictReader(file):
            command = max(
                (one for one in told if f"{row['command']} ".startswith(f"{one} ")), key=len
            )
            last = re.sub(r"(\[\])+$", "", row["key"]).split(".")[-1]
            assert not last or last in told[command], row


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
