"""Commands on the office pages."""

from typing import Annotated

import typer

from server.cli.options import Data, Database, opened
from server.cli.output import say
from server.pages import make_office_key

__all__ = ["app"]

app = typer.Typer(no_args_is_help=True, help="Let people into the office pages.")


@app.command("key")
def make_key(
    person: Annotated[str, typer.Argument(help="Whose rulings these will be, by the id in the record.")] = "office",
    url: Annotated[str, typer.Option(metavar="URL", help="The server's address.")] = "http://127.0.0.1:8000",
    data: Data = None,
    database: Database = None,
) -> None:
    """Make a key to the office pages, as a link. Whoever has the link may see and rule.

    Example: crosstree office key ines --url https://nursery.example
    """
    store = opened(data, database)
    key = make_office_key(store.engine, store.nursery, person)
    store.engine.dispose()
    say(f"{url.rstrip('/')}/door/{key}")
