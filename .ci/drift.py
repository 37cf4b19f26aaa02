"""Fails when the tables and the migrations disagree (alembic check on a database at head)."""

from alembic import command

from kitting.store import alembic_config, make_engine

engine = make_engine("sqlite://")
config = alembic_config()
with engine.begin() as connection:
    config.attributes["connection"] = connection
    command.upgrade(config, "head")
    command.check(config)
print("the migrations and the tables agree")
