"""A group on one server: which login works for which branch, and which requests are done."""

from __future__ import annotations

from datetime import datetime

from sqlalchemy import Index, String
from sqlalchemy.orm import Mapped, mapped_column

from kitting.tables.base import Base, Code, LongText, owned_by


class BranchMember(Base):
    """A login of the database server that works for a branch, and so sees its rows.

    Only PostgreSQL has logins; in SQLite the table stays empty. 63 is the longest name of a role.
    """

    __tablename__ = "branch_member"
    # The policies ask by login, the key answers; who is of a branch is asked by branch.
    __table_args__ = (Index(None, "branch_id"),)

    login: Mapped[str] = mapped_column(String(63), primary_key=True)
    branch_id: Mapped[int] = mapped_column(owned_by("branch"), primary_key=True)


class Handled(Base):
    """A request that was carried out, by the token its sender made up, in the same transaction.

    Whoever lost the connection sends it again with the same token: the key refuses a second time,
    and `answer` (JSON) is what was answered the first time. `branch_id` is whose request it was.
    """

    __tablename__ = "handled"
    __table_args__ = (Index(None, "branch_id"),)

    token: Mapped[Code] = mapped_column(primary_key=True)
    branch_id: Mapped[int] = mapped_column(owned_by("branch"))
    at: Mapped[datetime]
    answer: Mapped[LongText]
