"""A group on one server: its roles, and who works for which branch."""

from __future__ import annotations

from dataclasses import dataclass

from kitting.facts.words import Word


class GroupRole(Word):
    """The roles of a group, as the server names them."""

    READER = "kitting_reader"
    HAND = "kitting_hand"
    KEEPER = "kitting_keeper"


@dataclass(frozen=True, slots=True)
class RoleView:
    """A role of the group; `made` is False if it was there before."""

    name: GroupRole
    made: bool


@dataclass(frozen=True, slots=True)
class MemberView:
    """A login, the branches it works for, and the roles of the group that it has.

    `known` is False where the server has no such login (any more).
    """

    login: str
    branches: tuple[str, ...]
    roles: tuple[GroupRole, ...]
    known: bool
