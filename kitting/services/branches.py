"""Branches by code, as every command that works for one looks it up."""

from __future__ import annotations

from sqlalchemy import func, select
from sqlalchemy.orm import Session

from kitting.actions import Action, next_step
from kitting.errors import UnknownNameError
from kitting.services.lookup import lookup
from kitting.tables.group import BranchMember
from kitting.tables.supply import Branch


def find_branch(session: Session, code: str | None) -> Branch:
    """The branch named; if none is, the only one, or the only one that the login works for.

    Raises UnknownNameError.
    """
    branches = {branch.code: branch for branch in session.scalars(select(Branch))}
    if code is None and len(branches) == 1:
        return next(iter(branches.values()))
    if not branches:
        raise UnknownNameError(
            "no branch is described yet. Write one into a catalogue file under 'branches:' and load"
            " it",
            then=(next_step(Action.LOAD_CATALOGUE),),
        )
    if code is None and (mine := _own_branch(session)) is not None:
        return session.get_one(Branch, mine)
    if code is None:
        raise UnknownNameError(
            "which branch? There are {branches}",
            branches=", ".join(branches),
            then=(next_step(Action.NAME_BRANCH),),
        )
    return lookup("branch", code, branches, f"Known: {', '.join(sorted(branches))}")


def branch_codes(session: Session, code: str | None) -> dict[int, str]:
    """The codes of all branches by key, or of the one that is named. Raises UnknownNameError."""
    if code is not None:
        found = find_branch(session, code)
        return {found.id: found.code}
    return dict(session.execute(select(Branch.id, Branch.code).order_by(Branch.code)).all())


def _own_branch(session: Session) -> int | None:
    """The branch of a login that works for just one; None for others, and where no logins are."""
    if session.get_bind().dialect.name != "postgresql":
        return None
    mine = session.scalars(
        select(BranchMember.branch_id).where(BranchMember.login == func.current_user())
    ).all()
    return mine[0] if len(mine) == 1 else None
