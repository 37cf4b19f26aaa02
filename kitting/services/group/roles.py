"""Granting: the roles of a group on PostgreSQL, and which login works for which branch."""

from __future__ import annotations

from collections import defaultdict

from sqlalchemy import Engine, delete, func, insert, select
from sqlalchemy import text as sql
from sqlalchemy.orm import Session

from kitting.actions import Action, next_step
from kitting.errors import KittingError, StoreError
from kitting.services.branches import find_branch
from kitting.services.group.privileges import (
    BY_BRANCH,
    FUNCTIONS,
    HAND,
    KEEPER,
    OWNERS,
    PERSONAL,
    SHARED,
    writes,
)
from kitting.services.lookup import unknown
from kitting.store import reading, writing
from kitting.tables.group import BranchMember
from kitting.tables.supply import Branch
from kitting.views.group import GroupRole, MemberView, RoleView


def _require_server(engine: Engine) -> None:
    if engine.dialect.name != "postgresql":
        raise StoreError(
            "roles and members belong to a PostgreSQL server that several people share. This"
            " database is a file: whoever can open the file can do everything. Name a server",
            then=(next_step(Action.NAME_DATABASE, url="postgresql://HOST/NAME"),),
        )


def make_roles(engine: Engine) -> tuple[RoleView, ...]:
    """Make the roles of the group and grant each what it may do; again changes nothing.

    What a role had beside that in the tables of the program is taken away. To be run by the owner
    of the tables, who may make roles; raises StoreError for others, and for SQLite.
    """
    _require_server(engine)
    with writing(engine) as session:
        there = set(session.scalars(sql("SELECT rolname FROM pg_roles")))
        schema = session.scalars(sql("SELECT quote_ident(current_schema())")).one()
        # Before version 15 of the server everybody might make tables of his own beside ours.
        session.execute(sql(f"REVOKE CREATE ON SCHEMA {schema} FROM PUBLIC"))
        for role in GroupRole:
            if role not in there:
                session.execute(sql(f"CREATE ROLE {role} NOLOGIN"))
            _grant(session, role, schema)
        # What was found before there were bookings is nobody's own: the keeper loads it.
        session.execute(sql("DROP POLICY IF EXISTS keeper_insert ON finding"))
        session.execute(
            sql(
                f"CREATE POLICY keeper_insert ON finding FOR INSERT TO {KEEPER}"
                " WITH CHECK (booking_id IS NULL)"
            )
        )
        session.commit()
    return tuple(RoleView(role, role not in there) for role in GroupRole)


def _grant(session: Session, role: GroupRole, schema: str) -> None:
    """Everything that a role may do, instead of what it might before."""
    shared = (table for group in SHARED for table in group.tables)
    tables = (*BY_BRANCH, *shared, *OWNERS, "alembic_version")
    session.execute(sql(f"GRANT USAGE ON SCHEMA {schema} TO {role}"))
    every = (*tables, *PERSONAL)
    session.execute(sql(f"REVOKE ALL ON {', '.join(map(_quoted, every))} FROM {role}"))
    session.execute(sql(f"GRANT SELECT ON {', '.join(map(_quoted, tables))} TO {role}"))
    for table, privileges in writes(role).items():
        session.execute(sql(f"GRANT {privileges} ON {_quoted(table)} TO {role}"))
        sequence = session.scalar(
            sql(
                "SELECT pg_get_serial_sequence(quote_ident(:name), attname) FROM pg_attribute"
                " WHERE attrelid = to_regclass(quote_ident(:name)) AND attname = 'id'"
            ),
            {"name": table},
        )
        if sequence is not None and "INSERT" in privileges:
            session.execute(sql(f"GRANT USAGE ON SEQUENCE {sequence} TO {role}"))
    for function, roles in FUNCTIONS.items():
        session.execute(sql(f"REVOKE ALL ON FUNCTION {function} FROM {role}"))
        if role in roles:
            session.execute(sql(f"GRANT EXECUTE ON FUNCTION {function} TO {role}"))


def _quoted(table: str) -> str:
    # Names come from the list above; a few are words of SQL.
    return f'"{table}"'


def set_member(engine: Engine, login: str, branch: str, remove: bool = False) -> MemberView:
    """Let a login work for a branch, or no longer; returns what it has afterwards.

    Raises UnknownNameError for a login that the server does not have and for a branch that is not
    described, KittingError for removing what is not there, StoreError on SQLite.
    """
    _require_server(engine)
    with writing(engine) as session:
        owner = find_branch(session, branch)
        mine = (BranchMember.login == login) & (BranchMember.branch_id == owner.id)
        there = bool(session.scalar(select(func.count()).select_from(BranchMember).where(mine)))
        if remove:
            if not there:
                raise KittingError(
                    "{login} does not work for {code}",
                    login=login,
                    code=owner.code,
                    then=(next_step(Action.LIST_BRANCH_MEMBERS),),
                )
            session.execute(delete(BranchMember).where(mine))
        else:
            _require_login(session, login)
            if not there:
                session.execute(insert(BranchMember).values(login=login, branch_id=owner.id))
        found = {member.login: member for member in list_members(session)}
        session.commit()
    return found.get(login, MemberView(login, (), (), known=True))


def _require_login(session: Session, login: str) -> None:
    logins = session.scalars(sql("SELECT rolname FROM pg_roles WHERE rolcanlogin")).all()
    if login in logins:
        return
    raise unknown(
        "login",
        login,
        logins,
        f'Ask whoever runs the server to make it: CREATE ROLE "{login}" LOGIN IN ROLE {HAND}',
    )


def list_members(session: Session) -> tuple[MemberView, ...]:
    """Every login that has a role of the group or works for a branch, in order.

    Superusers and the owner of the tables may do everything and are not listed. A login that is not
    the owner sees only its own branches.
    """
    branches: dict[str, list[str]] = defaultdict(list)
    for login, code in session.execute(
        select(BranchMember.login, Branch.code)
        .join(Branch, BranchMember.branch_id == Branch.id)
        .order_by(BranchMember.login, Branch.code)
    ):
        branches[login].append(code)
    roles: dict[str, list[GroupRole]] = defaultdict(list)
    for login, role in session.execute(
        sql(
            "SELECT login.rolname, role.rolname FROM pg_roles login, pg_roles role"
            " WHERE login.rolcanlogin AND NOT login.rolsuper AND role.rolname = ANY (:roles)"
            " AND pg_has_role(login.oid, role.oid, 'USAGE') ORDER BY login.rolname, role.rolname"
        ),
        {"roles": [role.value for role in GroupRole]},
    ):
        roles[login].append(GroupRole(role))
    known = set(session.scalars(sql("SELECT rolname FROM pg_roles WHERE rolcanlogin")))
    return tuple(
        MemberView(login, tuple(branches[login]), tuple(roles[login]), login in known)
        for login in sorted({*branches, *roles})
    )


def members(engine: Engine) -> tuple[MemberView, ...]:
    """The members as `list_members` tells them; raises StoreError on SQLite."""
    _require_server(engine)
    with reading(engine) as session:
        return list_members(session)
