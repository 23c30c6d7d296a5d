"""How commands speak: results on stdout, troubles and progress on stderr."""

import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from typing import TypeAlias

import typer
from rich.console import Console
from rich.progress import BarColumn, MofNCompleteColumn, Progress, SpinnerColumn, TextColumn, TimeElapsedColumn

__all__ = ["Step", "complain", "progress", "say"]

Step: TypeAlias = Callable[[str, int, int], None]
"""Told what is being done, how far it is, and of how much (0 where nobody can know)."""


def say(text: str = "") -> None:
    """One line of the result."""
    typer.echo(text)


def complain(text: str) -> None:
    """What went wrong."""
    typer.echo(f"crosstree: {text}", err=True)


@contextmanager
def progress() -> Iterator[Step]:
    """A bar on stderr for long work; nothing where stderr is not a terminal."""
    console = Console(file=sys.stderr)
    columns = (SpinnerColumn(), TextColumn("{task.description}"), BarColumn(), MofNCompleteColumn(), TimeElapsedColumn())
    with Progress(*columns, console=console, transient=True, disable=not console.is_terminal) as bars:
        task = bars.add_task("", total=None)
        doing = ""

        def step(what: str, done: int, of: int) -> None:
            nonlocal task, doing
            if what != doing:
                bars.remove_task(task)
                task = bars.add_task(what, total=of or None)
                doing = what
            bars.update(task, completed=done, total=of or None)

        yield step
