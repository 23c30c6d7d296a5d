"""Commands on tablets: who may exchange with the record."""

import io
from datetime import UTC, datetime
from typing import Annotated

import segno
import typer

from server.access.tablets import make_code, withdraw_tablet
from server.access.trail import COMMAND_LINE
from server.cli.options import Data, Database, opened
from server.cli.output import say
from server.store.tablets import list_tablets

__all__ = ["app"]

app = typer.Typer(no_args_is_help=True, help="Let tablets in, list them, and withdraw one that was lost.")


@app.command("list")
def list_all(data: Data = None, database: Database = None) -> None:
    """List every tablet that was ever let in.

    Example: crosstree tablets list
    """
    store = opened(data, database)
    tablets = list_tablets(store)
    for tablet in tablets:
        seen = datetime.fromtimestamp(tablet.seen_ms / 1000, UTC).isoformat(" ", "minutes") if tablet.seen_ms else "never"
        ahead = f", clock {tablet.clock_off_s:+} s" if tablet.clock_off_s else ""
        state = "withdrawn" if tablet.withdrawn else f"last heard of {seen}, {tablet.waiting} waiting{ahead}"
        say(f"{tablet.writer:<8}{tablet.name:<24}{tablet.head:>8} entries  {state}")
    if not tablets:
        say("no tablet yet: `crosstree tablets code` lets one in")
    store.engine.dispose()


@app.command("code")
def print_code(
    url: Annotated[str | None, typer.Option(metavar="URL", help="The server's address, to put into the picture.")] = None,
    data: Data = None,
    database: Database = None,
) -> None:
    """Make a one-time code that lets one tablet in, also as a QR code.

    Example: crosstree tablets code --url http://nursery.local:8000
    """
    store = opened(data, database)
    code, until = make_code(store, COMMAND_LINE)
    store.engine.dispose()
    picture = io.StringIO()
    segno.make(code if url is None else f"{url}#{code}", micro=False).terminal(picture, compact=True)
    say(picture.getvalue())
    say(f"code {code}: for one tablet, until {until.isoformat(' ', 'minutes')}")


@app.command("withdraw")
def withdraw_one(
    tablet: Annotated[str, typer.Argument(help="Its id in `crosstree tablets list`.")],
    reason: Annotated[str, typer.Option(help="Why; the page about tablets shows it.")] = "by a command on the server",
    data: Data = None,
    database: Database = None,
) -> None:
    """Take a tablet's leave to exchange away. What it brought stays in the record. The page about tablets undoes it.

    Example: crosstree tablets withdraw k7f3qz --reason "lost overboard"
    """
    store = opened(data, database)
    withdraw_tablet(store, tablet, reason, COMMAND_LINE)
    store.engine.dispose()
    say(f"withdrawn: {tablet}")
