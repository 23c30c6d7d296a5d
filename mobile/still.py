"""The still: a picture of the page where the tablet stopped, shown by the next start until the page itself is there.

What a start has to load to read, fold and draw a page takes longer than anybody likes to look at an empty window. The
still is no second record: the transaction that writes anything at all takes it away (see database.py), so that one that
is found shows exactly what the entries and settings on disk come to. It is shown only by the program that took it, on
glass of the same size.
"""

import os
import zlib
from collections.abc import Iterator
from pathlib import Path
from typing import Any, Final, NamedTuple

from mobile.database import Database

__all__ = ["Still", "StillShelf", "pack"]

_ROOMS: Final = (Path(__file__).parent, Path(__file__).parent.parent / "shared_schema")


class Still(NamedTuple):
    """`pixels` are red, green, blue and opacity, a byte each, row by row from the lower left."""

    width: int
    height: int
    pixels: bytes


class StillShelf:
    """The one still of a tablet's file. `glass` says what else but its size a picture depends on."""

    def __init__(self, database: Database, glass: str) -> None:
        self._database = database
        self._mark = f"{_program()} {glass}"

    @property
    def moment(self) -> tuple[int, int]:
        """What `keep` asks for: to be read when the picture is taken."""
        return self._database.moment

    def has(self, width: int, height: int) -> bool:
        """Whether there is one of how things are now, of this program on such glass."""
        return self._rows("mark, width, height") == [(self._mark, width, height)]

    def read(self, width: int, height: int) -> Still | None:
        """It, where there is, and whole."""
        if not self.has(width, height):
            return None
        try:
            pixels = zlib.decompress(self._rows("packed")[0][0])
        except zlib.error:
            return None
        return Still(width, height, pixels) if len(pixels) == 4 * width * height else None

    def keep(self, width: int, height: int, packed: bytes, moment: tuple[int, int]) -> bool:
        """Keep a still that was packed (see `pack`), unless anything was written since it was taken."""
        return self._database.put_still((self._mark, width, height, packed), moment)

    def _rows(self, columns: str) -> list[tuple[Any, ...]]:
        """The still as rows: one, or none where none was ever taken or something was written since."""
        if not self._database.rows("SELECT 1 FROM sqlite_schema WHERE name = 'still'"):
            return []
        return self._database.rows(f"SELECT {columns} FROM still")  # noqa: S608


def pack(pixels: bytes) -> bytes:
    """As they are kept: a page of plain colours comes to a fiftieth."""
    return zlib.compress(pixels, 1)


def _program() -> str:
    """What tells two versions of the program apart, in the time that a start has for it."""
    stats = [file.stat() for room in _ROOMS for file in _files(room)]
    return f"{len(stats)}:{sum(stat.st_size for stat in stats)}:{max(stat.st_ctime_ns for stat in stats)}"


def _files(folder: Path | str) -> Iterator[os.DirEntry[str]]:
    with os.scandir(folder) as inside:
        for one in inside:
            if one.is_dir():
                if one.name != "__pycache__":
                    yield from _files(one.path)
            else:
                yield one
