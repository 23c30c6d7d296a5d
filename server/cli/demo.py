"""The command that shows the product on an invented nursery."""

import signal
import tempfile
import threading
from contextlib import ExitStack
from pathlib import Path
from typing import Annotated

import typer

from server.cli.output import progress, say
from server.demo.calendar import NEWEST
from server.demo.show import open_again, show
from server.demo.staging import clear, is_whole
from server.demo.telling import tell_agreement, tell_outcome
from server.settings import Settings

__all__ = ["show_demo"]


def show_demo(
    data: Annotated[
        Path | None,
        typer.Option("--data", metavar="DIR", help="Keep it in this folder. Unless given: a temporary one.", file_okay=False),
    ] = None,
    port: Annotated[int, typer.Option(min=0, max=65535, help="The port; 0 takes any that is free.")] = 0,
    once: Annotated[bool, typer.Option("--once", help="Tell, and end without serving.")] = False,
    fresh: Annotated[bool, typer.Option("--fresh", help="Build it anew where the folder holds one already.")] = False,
    seed: Annotated[int, typer.Option(min=0, help="Another number makes another two years.")] = 1,
) -> None:
    """Look round an invented nursery: two years of surveys, and two tablets that contradict each other.

    Example: crosstree demo
    """
    if data is not None:
        _run(Settings.of(data, f"sqlite:///{data / 'crosstree.sqlite'}"), port, once, fresh, seed)
        return
    with tempfile.TemporaryDirectory(prefix="crosstree-demo-") as folder:
        _run(Settings.of(Path(folder), f"sqlite:///{Path(folder) / 'crosstree.sqlite'}"), port, once, False, seed)


def _run(settings: Settings, port: int, once: bool, fresh: bool, seed: int) -> None:
    whole = is_whole(settings)
    if whole and fresh:
        clear(settings)
    elif whole:
        say(f"{settings.data} holds the demo already, and it is shown as it was left; --fresh builds it anew")
        with open_again(settings, port) as link:
            _serve(link, once)
        return
    with ExitStack() as showing:
        with progress() as step:
            shown = showing.enter_context(show(settings, port, seed, step))
        for line in tell_outcome(shown.outcome, shown.corals, NEWEST.survey):
            say(line)
        say(tell_agreement(shown.tablets, shown.server))
        if not shown.in_step:
            raise typer.Exit(1)
        _serve(shown.link, once)


def _serve(link: str, once: bool) -> None:
    if once:
        return
    say()
    say(f"Look round: {link}")
    say("Ctrl-C ends it.")
    ended = threading.Event()
    for each in (signal.SIGINT, signal.SIGTERM):
        signal.signal(each, lambda *_: ended.set())
    ended.wait()
    say()
