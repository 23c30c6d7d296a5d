"""The command as a whole: its groups of commands, its version, and how it fails."""

import gc
from importlib.metadata import version
from typing import Annotated, Any, Final

import typer
from typer.core import TyperGroup

from server.cli import demo, nursery, office, serve, survey, tablet, tablets, upkeep
from server.cli.output import complain
from shared_schema.errors import CrosstreeError

__all__ = ["app"]

# The \b keeps click from filling the lines up.
_EXAMPLES: Final = """\b
Examples:
  crosstree demo                           look round an invented nursery
  crosstree nursery new "Our nursery"      make one of your own
  crosstree nursery load nursery.csv       load what hangs in it
  crosstree survey plan 2026-11            plan a survey of all of it
  crosstree office first sue --name "Sue"  make the first supervisor, who lets others in
  crosstree tablets code                   let a tablet in
  crosstree serve --host 0.0.0.0           serve tablets and browsers

The record is kept in --data, else in CROSSTREE_DATA, else in your data folder.
"""


class _Program(TyperGroup):
    """Says what went wrong in one message on stderr, and ends with 1; wrong usage ends with 2."""

    def invoke(self, ctx: Any) -> Any:
        try:
            return super().invoke(ctx)
        except CrosstreeError as error:
            complain(str(error))
            raise typer.Exit(1) from error


app = typer.Typer(
    name="crosstree",
    cls=_Program,
    no_args_is_help=True,
    add_completion=False,
    pretty_exceptions_enable=False,
    rich_markup_mode=None,
    help="Keeps the record of a coral nursery: what hangs where, what each dive found, who descends from whom.",
    epilog=_EXAMPLES,
)


def _tell_version(wanted: bool) -> None:
    if wanted:
        typer.echo(f"crosstree {version('crosstree')}")
        raise typer.Exit


@app.callback()
def _options(
    _version: Annotated[
        bool, typer.Option("--version", callback=_tell_version, is_eager=True, help="Say the version and end.")
    ] = False,
) -> None:
    # Commands make many objects and few cycles; looking for those took a third of the time of a large load.
    gc.freeze()
    gc.set_threshold(50_000, 20, 50)


app.command("demo")(demo.show_demo)
app.command("serve")(serve.run_server)
app.command("tablet")(tablet.run_tablet)
app.command("check")(upkeep.check)
app.command("backup")(upkeep.make_backup)
app.command("restore")(upkeep.restore_backup)
app.add_typer(nursery.app, name="nursery")
app.add_typer(tablets.app, name="tablets")
app.add_typer(survey.app, name="survey")
app.add_typer(office.app, name="office")
