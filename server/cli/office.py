"""Commands on who may enter the office pages: the first supervisor, and a way back in."""

from typing import Annotated

import typer

from server.access.accounts import make_first_supervisor, read_account
from server.access.links import make_link
from server.access.trail import COMMAND_LINE
from server.cli.options import Data, Database, opened
from server.cli.output import say
from server.registry.people import list_person

__all__ = ["app"]

app = typer.Typer(no_args_is_help=True, help="Let people into the office pages.")

Url = Annotated[str, typer.Option(metavar="URL", help="The server's address, as people reach it.")]
_HERE = "http://127.0.0.1:8000"


@app.command("first")
def make_first(
    person: Annotated[str, typer.Argument(help="Their id in the record, as ines: rulings of theirs carry it.")],
    name: Annotated[str, typer.Option(help="What people call them.")],
    url: Url = _HERE,
    data: Data = None,
    database: Database = None,
) -> None:
    """Make the first supervisor of a nursery, and a link to set a password. That one then invites the others.

    Example: crosstree office first ines --name "Inés Office" --url https://nursery.example
    """
    store = opened(data, database)
    made = make_first_supervisor(store, person, name, COMMAND_LINE)
    list_person(store, made.person, made.name, "supervisor", made.person)
    secret = make_link(store, made.person, "password", COMMAND_LINE)
    store.engine.dispose()
    say(f"{made.name} is the first supervisor. Within three days, set a password at:")
    say(f"{url.rstrip('/')}/door/{secret}")


@app.command("link")
def print_link(
    person: Annotated[str, typer.Argument(help="Whose account, by their id.")],
    password: Annotated[bool, typer.Option("--password", help="To set a new password, instead of signing in at once.")] = False,
    url: Url = _HERE,
    data: Data = None,
    database: Database = None,
) -> None:
    """Print a link that works once, for somebody who has an account: it signs them in within the hour.

    Examples: crosstree office link ines; crosstree office link ines --password --url https://nursery.example
    """
    store = opened(data, database)
    account = read_account(store, person)
    secret = make_link(store, account.person, "password" if password else "sign_in", COMMAND_LINE)
    store.engine.dispose()
    say(f"{url.rstrip('/')}/door/{secret}")
