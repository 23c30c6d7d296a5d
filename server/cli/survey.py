"""Commands on surveys: plan one."""

from typing import Annotated

import typer

from server.cli.options import By, Data, Database, opened
from server.cli.output import say
from server.registry.cells import read_names
from server.registry.surveys import Asked, plan_survey

__all__ = ["app"]

app = typer.Typer(no_args_is_help=True, help="Plan surveys.")


@app.command("plan")
def plan(  # noqa: PLR0913, PLR0917 - each argument is one of the command's
    survey: Annotated[str, typer.Argument(help="Its month or day: 2026-11, 2026-11-14, 2026-11b.")],
    name: Annotated[str, typer.Argument(help="What people call it.", show_default="as its month or day")] = "",
    opens: Annotated[str, typer.Option(metavar="YYYY-MM-DD", help="Its first day.", show_default="of that month")] = "",
    closes: Annotated[str, typer.Option(metavar="YYYY-MM-DD", help="Its last day.", show_default="of that month")] = "",
    structures: Annotated[str, typer.Option(metavar="NAMES", help="With blanks between.", show_default="all there are")] = "",
    people: Annotated[str, typer.Option(metavar="PERSONS", help="Who goes, with blanks between.", show_default="not said")] = "",
    by: By = "office",
    data: Data = None,
    database: Database = None,
) -> None:
    """Plan a survey, or plan it anew.

    Example: crosstree survey plan 2026-11 "November" --closes 2026-11-14 --structures "T01 T02 L1"
    """
    store = opened(data, database)
    asked = Asked(survey, name, opens, closes, read_names(structures) or None, read_names(people))
    plan_survey(store, asked, by=by)
    planned = store.standing(f"survey:{survey}")
    store.engine.dispose()
    many = len(planned.value("structures"))
    say(f"planned {survey}: {planned.value('opens')} to {planned.value('closes')}, {many} structures")
