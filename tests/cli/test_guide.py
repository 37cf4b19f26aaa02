"""The guide on the screen: the list of pages, a page on a terminal, a page in a pipe."""

from __future__ import annotations

import io
import re
from pathlib import Path

import pytest
from commands import Run

from kitting.cli.render.guide import show_page, told
from kitting.cli.screen import console
from kitting.guide.pages import TOPICS, Page, page

FENCED = re.compile(r"^```[^\n]*\n(.*?)^```$", re.DOTALL | re.MULTILINE)


def on_a_terminal(one: Page, columns: int, monkeypatch: pytest.MonkeyPatch) -> str:
    """What a page writes on a terminal, colours included."""
    for name, value in {"FORCE_COLOR": "1", "TERM": "xterm"}.items():
        monkeypatch.setenv(name, value)
    monkeypatch.delenv("NO_COLOR", raising=False)
    for name in ("COLUMNS", "KITTING_COLUMNS"):
        monkeypatch.setenv(name, str(columns))
    written = io.StringIO()
    monkeypatch.setattr("sys.stdout", written)
    show_page(console(), one)
    return written.getvalue()


def plain(text: str) -> str:
    """Without colours."""
    return re.sub(r"\x1b\[[0-9;]*m", "", text)


def test_without_a_topic_all_pages_are_listed_in_the_order_of_work(
    run: Run, empty_folder: Path
) -> None:
    ended = run("guide")
    assert ended.code == 0
    assert re.findall(r"^([a-z-]+)  ", ended.out, re.MULTILINE)[1:] == list(TOPICS)
    for topic in TOPICS:
        assert re.sub(r"[`*]", "", page(topic).about) in ended.said
    assert "Show one with: kitting guide first-job" in ended.out


@pytest.mark.parametrize("topic", TOPICS)
def test_in_a_pipe_a_page_is_plain_markdown(run: Run, empty_folder: Path, topic: str) -> None:
    ended = run("guide", topic)
    assert (ended.code, ended.err) == (0, "")
    assert ended.out.startswith(f"# {page(topic).title}\n")
    assert ("\x1b" in ended.out, "<!--" in ended.out) == (False, False)
    assert FENCED.findall(ended.out) == FENCED.findall(page(topic).text)
    assert not re.search(r"\]\(", FENCED.sub("", ended.out))


@pytest.mark.parametrize("topic", TOPICS)
def test_on_a_terminal_every_line_of_code_stands_as_it_can_be_copied(
    monkeypatch: pytest.MonkeyPatch, topic: str
) -> None:
    shown = plain(on_a_terminal(page(topic), 60, monkeypatch)).splitlines()
    kept = [line for block in FENCED.findall(page(topic).text) for line in block.splitlines()]
    lines = {line.rstrip() for line in shown}
    assert [line for line in kept if line.rstrip() not in lines] == []


def test_links_and_pictures_are_told_by_the_command_that_shows_them() -> None:
    text = (
        "See [ordering](ordering.md), [the day](bookings.md#clock), [seeds/a.yaml](../../seeds/a.yaml).\n"
        "![A chart](../../reports/pictures/dates.png)\n<!-- kept by hand -->\n"
        "```yaml\nlinks: [a](b.md) <!-- stays -->\n```\n```sh before\nkitting setup\n```\n"
    )
    assert told(text) == (
        "See `kitting guide ordering`, the day (`kitting guide bookings`), seeds/a.yaml.\n"
        "*Picture: A chart*\n"
        "```yaml\nlinks: [a](b.md) <!-- stays -->\n```\n```sh\nkitting setup\n```\n"
    )


def test_a_page_never_steers_the_terminal(monkeypatch: pytest.MonkeyPatch) -> None:
    hostile = "\x1b[2J\x9b2J\u202e"
    made = Page(
        "x", "x", "x", f"# x{hostile}\n\nb{hostile} `c{hostile}`\n\n```sh\n{hostile}\n```\n"
    )
    shown = plain(on_a_terminal(made, 60, monkeypatch))
    assert not set(hostile[:1] + "\x9b\u202e") & set(shown)
    assert shown.count("␛[2J") == 4


def test_a_page_on_a_terminal_is_set_out(monkeypatch: pytest.MonkeyPatch) -> None:
    shown = on_a_terminal(page("exit-codes"), 60, monkeypatch)
    assert "\x1b[" in shown
    assert "| code |" not in shown
    assert "# Exit codes" not in plain(shown)


def test_an_unknown_topic_is_answered_with_the_nearest_or_who_speaks_of_it_or_with_all(
    run: Run, empty_folder: Path
) -> None:
    near = run("guide", "ordring")
    assert (near.code, near.out) == (1, "")
    assert near.err == "kitting: topic 'ordring': unknown name. Did you mean ordering?\n"
    seen = {"Labels": "first-job or sheets", "ramp": "bookings", "torque": "tightening"}
    for word, topics in seen.items():
        assert run("guide", word).err == f"kitting: topic {word!r}: unknown name. See {topics}\n"
    far = run("guide", "xyzzy")
    assert far.code == 1
    assert f"unknown name. There are {', '.join(TOPICS)}" in far.said


def test_capitals_of_a_topic_are_not_minded(run: Run, empty_folder: Path) -> None:
    assert run("guide", "Tools").out == run("guide", "tools").out
