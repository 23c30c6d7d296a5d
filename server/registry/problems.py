"""What is wrong with a nursery file, cell by cell, so that its owner can mend it in one go."""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from typing import Final

from shared_schema.errors import SchemaError

__all__ = ["MOST_SHOWN", "CellError", "FileRefused", "Problem", "Problems"]

MOST_SHOWN: Final = 20
"""A mistake in one column repeats on every line: after this many the pattern is plain."""


class CellError(SchemaError):
    """A cell cannot be read; the message says why and what to write instead."""


@dataclass(frozen=True, slots=True, order=True)
class Problem:
    """One thing to mend. `line` counts from 1, 0 where it is the file as a whole; `column` is the heading as written."""

    file: str
    line: int
    column: str
    value: str
    reason: str

    def __str__(self) -> str:
        where = self.file + (f", line {self.line}" if self.line else "") + (f", {self.column}" if self.column else "")
        shown = self.value if len(self.value) <= 60 else self.value[:57] + "..."
        return f"{where}: {shown!r}: {self.reason}" if self.column else f"{where}: {self.reason}"


class Problems:
    """Gathers problems; each is kept once."""

    def __init__(self) -> None:
        self._found: dict[Problem, None] = {}

    def add(self, file: str, line: int, reason: str, *, column: str = "", value: str = "") -> None:
        """Note one."""
        self._found[Problem(file, line, column, value, reason)] = None

    def __len__(self) -> int:
        return len(self._found)

    def __iter__(self) -> Iterator[Problem]:
        return iter(sorted(self._found))

    def stop(self) -> None:
        """Raises FileRefused where there is any."""
        if self._found:
            raise FileRefused(self)


class FileRefused(SchemaError):
    """A nursery file has problems, and nothing of it was stored. `problems` are all of them, by file and line."""

    def __init__(self, problems: Iterable[Problem]) -> None:
        self.problems = tuple(problems)
        shown = "\n".join(f"  {problem}" for problem in self.problems[:MOST_SHOWN])
        more = len(self.problems) - MOST_SHOWN
        rest = f"\n  and {more} more" if more > 0 else ""
        count = "1 problem" if len(self.problems) == 1 else f"{len(self.problems)} problems"
        super().__init__(f"{count}; nothing was stored:\n{shown}{rest}")
