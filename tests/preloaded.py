"""Everything that a process of a test may need, imported once; see `processes`."""

import psycopg  # noqa: F401
import racing  # noqa: F401
import sqlalchemy.dialects.postgresql
import sqlalchemy.dialects.sqlite  # noqa: F401
from sqlalchemy.orm import configure_mappers

import kitting.tables.all  # noqa: F401
from kitting.cli.main import COMMANDS, _made
from kitting.services.upkeep import backup, restore  # noqa: F401

for module in COMMANDS:
    _made(module)
configure_mappers()
