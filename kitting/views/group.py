"""A group on one server: its roles, and who works for which branch."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class RoleView:
    """A role of the group: what who has it may do; `made` is False if it was there before."""

    name: str
    may: str
    made: bool


@dataclass(frozen=True, slots=True)
class MemberView:
    """A login, the branches it works for, and the roles of the group that it has.

    `known` is False where the server has no such login (any more).
    """

    login: str
    branches: tuple[str, ...]
    roles: tuple[str, ...]
    known: bool
