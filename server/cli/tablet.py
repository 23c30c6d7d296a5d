"""The command that starts the tablet's own program on this computer."""

import os
import sys
from importlib.util import find_spec
from pathlib import Path
from typing import Annotated

import typer
from platformdirs import user_data_path

from server.cli.output import complain

__all__ = ["run_tablet"]


def run_tablet(
    data: Annotated[
        Path | None,
        typer.Option(
            metavar="FILE",
            help="The tablet's database. Unless given: tablet.sqlite in your data folder.",
            show_default=False,
            dir_okay=False,
        ),
    ] = None,
    pictures: Annotated[
        list[Path] | None,
        typer.Option(
            metavar="FOLDER", help="Where photos are; may be repeated. Unless given: your picture folders.", show_default=False
        ),
    ] = None,
) -> None:
    """Run the tablet's program in a window here, to enter what was seen with no network.

    Example: crosstree tablet --data boat.sqlite
    """
    if find_spec("kivy") is None:
        complain("the tablet's screens need Kivy, which is not installed: pip install 'crosstree[tablet]'")
        raise typer.Exit(1)
    file = data or user_data_path("crosstree") / "tablet.sqlite"
    file.parent.mkdir(parents=True, exist_ok=True)
    folders = [part for folder in pictures or () for part in ("--pictures", str(folder))]
    # In the place of this program: the tablet and the server know nothing of each other.
    os.execv(sys.executable, [sys.executable, "-m", "mobile.start", "--data", str(file), *folders])  # noqa: S606  # no shell wanted
