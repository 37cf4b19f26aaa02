"""Commands about a group on one PostgreSQL server: its roles, and who works for which branch."""

from __future__ import annotations

from typing import Annotated

import typer

from kitting.cli.options import Database, Json, console, open_database, print_json, remark
from kitting.wording.language import _

app = typer.Typer(
    help="Say who may do what for which branch, where several share one PostgreSQL server.",
    no_args_is_help=True,
    rich_markup_mode=None,
)


def register(root: typer.Typer) -> None:
    """Add the group."""
    root.add_typer(app, name="group")


@app.command()
def roles(database: Database = None, as_json: Json = False) -> None:
    """Make the three roles of a group, and grant each what it may do; again changes nothing.

    kitting_reader reads the catalogue and the rows of its branches. kitting_hand books, picks,
    counts, sends, orders and receives for its branches. kitting_keeper changes the catalogue, cars,
    suppliers and prices. Run it as the owner of the database, who may make roles, and again after
    every 'kitting setup' of a newer program. Whoever runs the server makes logins: CREATE ROLE anna
    LOGIN PASSWORD '…' IN ROLE kitting_hand.

    Example: kitting group roles
    """
    from kitting.services.group.roles import make_roles

    made = make_roles(open_database(database))
    if as_json:
        print_json(made)
        return
    from kitting.wording.upkeep import ROLES

    for role in made:
        print(f"{role.name} ({_('made') if role.made else _('was there')}): {_(ROLES[role.name])}")


@app.command()
def member(
    login: Annotated[str, typer.Argument(help="A login of the server.")],
    branch: Annotated[str, typer.Option("--branch", help="The branch.")],
    remove: Annotated[bool, typer.Option("--remove", help="No longer.")] = False,
    database: Database = None,
    as_json: Json = False,
) -> None:
    """Let a login work for a branch, so that it sees and changes the rows of that branch.

    The login itself is made by whoever runs the server: CREATE ROLE anna LOGIN PASSWORD '…' IN ROLE
    kitting_hand. It may work for several branches; run this once for each.

    Example: kitting group member anna --branch upper
    """
    from kitting.services.group.privileges import HAND
    from kitting.services.group.roles import set_member

    view = set_member(open_database(database), login, branch, remove)
    if as_json:
        print_json(view)
    else:
        print(f"{view.login}: {', '.join(view.branches) or 'no branch'}")
    if not view.roles and not remove:
        remark(
            _(
                '{login} has no role of the group yet: GRANT {role} TO "{login}"',
                login=login,
                role=HAND,
            )
        )


@app.command("list")
def list_command(database: Database = None, as_json: Json = False) -> None:
    """List the logins of a group with their roles and branches.

    Superusers and the owner of the tables may do everything and are not listed.

    Example: kitting group list
    """
    from kitting.cli.render import headings
    from kitting.cli.render.tables import plain_table
    from kitting.services.group.roles import members

    found = members(open_database(database))
    if as_json:
        print_json(found)
        return
    table = plain_table(headings.LOGIN, headings.ROLES, headings.BRANCHES)
    for one in found:
        login = one.login if one.known else f"{one.login} (no such login any more)"
        table.add_row(login, ", ".join(one.roles) or "none", ", ".join(one.branches) or "none")
    console().print(table)
