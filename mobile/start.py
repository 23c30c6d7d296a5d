"""Starts the tablet: first the window, with what was to be seen in it when it stopped, then the program.

Nothing is imported here that the first frame does without.
"""

import argparse
import gc
import sys
from collections.abc import Sequence
from pathlib import Path

from mobile.database import Database
from mobile.still import StillShelf
from mobile.widgets.window import glass_of, open_window, prepare_window, show_still
from shared_schema.errors import StorageError

__all__ = ["main"]


def main(arguments: Sequence[str] | None = None) -> int:
    """Run the tablet in a window, on the database in a file."""
    parser = argparse.ArgumentParser(prog="crosstree tablet", description=main.__doc__)
    parser.add_argument("--data", type=Path, required=True, metavar="FILE", help="the tablet's database")
    parser.add_argument("--width", type=int, default=1280, metavar="PIXELS")
    parser.add_argument("--height", type=int, default=800, metavar="PIXELS")
    parser.add_argument("--pictures", type=Path, action="append", metavar="FOLDER", help="where photos are; may be repeated")
    chosen = parser.parse_args(arguments)
    gc.disable()  # until the program is there: hardly anything that a start makes goes away again
    prepare_window(chosen.width, chosen.height)
    try:
        _show_at_once(chosen.data)
        from mobile.app import run_tablet  # noqa: PLC0415  # this is what takes its time
        from mobile.pictures import usual_folders  # noqa: PLC0415

        run_tablet(chosen.data, tuple(chosen.pictures or usual_folders()))
    except StorageError as error:
        sys.stderr.write(f"crosstree tablet: {error}\n")
        return 1
    return 0


def _show_at_once(data: Path) -> None:
    database = Database(data, check=False)
    try:
        window = open_window()
        still = StillShelf(database, glass_of(window)).read(*(round(pixels) for pixels in window.size))
    finally:
        database.close()
    if still is not None:
        show_still(window, still)


if __name__ == "__main__":
    sys.exit(main())
