"""Alembic environment: runs on a connection handed over by `kitting.store` or on a URL."""

from __future__ import annotations

from alembic import context
from sqlalchemy import Connection

from kitting.store import make_engine
from kitting.tables.all import Base


def run(connection: Connection) -> None:
    """Migrate on an open connection; SQLite alters tables by rebuilding them (batch mode)."""
    context.configure(
        connection=connection,
        target_metadata=Base.metadata,
        render_as_batch=True,
        compare_type=True,
        transaction_per_migration=False,
    )
    with context.begin_transaction():
        context.run_migrations()


handed_over = context.config.attributes.get("connection")
if handed_over is not None:
    run(handed_over)
else:
    engine = make_engine(context.config.get_main_option("sqlalchemy.url") or "sqlite:///kitting.db")
    with engine.begin() as opened:
        run(opened)
    engine.dispose()
