"""In which language a command answers: the one asked for, else that of the branch it is about."""

from __future__ import annotations

from contextvars import ContextVar

from kitting.cli.given import stated_by_branches
from kitting.facts.language import SOURCE, ask_when_told, tell_in, told_tag

_CHOSEN: ContextVar[str | None] = ContextVar("language chosen", default=None)


def choose(tag: str | None) -> None:
    """Answer in the language of a tag; None leaves it to the branch.

    Raises FigureError for a language without texts.
    """
    chosen = None if tag is None else told_tag(tag)
    _CHOSEN.set(chosen)
    tell_in(chosen or SOURCE)


def leave_to_branch() -> None:
    """Answer in the language of the branch that a command is about, unless one was asked for."""
    if _CHOSEN.get() is None:
        ask_when_told(_of_branch)


def _of_branch() -> str:
    """What the branches state; the language of the source where they differ or state none."""
    from kitting.services.of_branch import languages_of

    stated = stated_by_branches(languages_of)
    return next(iter(stated)) or SOURCE if len(stated) == 1 else SOURCE
