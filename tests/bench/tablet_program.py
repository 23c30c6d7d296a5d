"""Programs that the tablet's benchmarks start: python -m tests.bench.tablet_program bare | start DATA | taps DATA SEED.

`bare` opens a window with nothing in it, `start` the tablet on its record: each says `shown` with its third frame, for the
first ones are blank, and ends. `taps` enters a page at random, as fast as it can, until it is killed, and tells each tap
before it is made and after it was painted.
"""

import os
import random
import sys
from datetime import UTC, datetime
from pathlib import Path

import tests.screens  # noqa: F401  # Kivy's environment, before its first import


def say(text: str) -> None:
    """A line that is on its way when this returns."""
    sys.stdout.write(text + "\n")
    sys.stdout.flush()


def until_the_third_frame() -> None:
    """Say when it was shown, and end."""
    from kivy.core.window import Window  # noqa: PLC0415  # opens the window

    frames = iter(range(1, 1_000_000))

    def shown(*_window: object) -> None:
        if next(frames) == 3:
            say("shown")
            os._exit(0)
        Window.canvas.ask_update()

    Window.bind(on_flip=shown)


def bare() -> None:
    """A window of Kivy's with nothing in it."""
    from kivy.app import App  # noqa: PLC0415
    from kivy.config import Config  # noqa: PLC0415
    from kivy.uix.widget import Widget  # noqa: PLC0415

    Config.set("graphics", "multisamples", "0")
    Config.set("graphics", "width", "1280")
    Config.set("graphics", "height", "800")

    class Bare(App):  # type: ignore[misc]  # Kivy's classes are Any to mypy
        def build(self) -> Widget:
            until_the_third_frame()
            return Widget()

    Bare().run()


def start(data: str) -> None:
    """The tablet as its user starts it."""
    from mobile import app  # noqa: PLC0415

    prepare = app.TabletApp.on_start

    def counted(tablet: app.TabletApp) -> None:
        prepare(tablet)
        until_the_third_frame()

    app.TabletApp.on_start = counted
    app.main(["--data", data])


def taps(data: str, seed: int) -> None:
    """Enter at random until killed."""
    from mobile.day import Day  # noqa: PLC0415
    from mobile.desk import PracticeDesk  # noqa: PLC0415
    from mobile.store import Store  # noqa: PLC0415
    from shared_schema.designs import parse_design  # noqa: PLC0415
    from tests.screens.harness import staged  # noqa: PLC0415

    chance = random.Random(seed)
    with Store(Path(data), check=False) as store:
        day = Day(store, lambda: datetime.now(UTC))
        with staged(PracticeDesk("T00", parse_design({"design": "tree"})), day=day) as stage:
            stage.paints = True
            dive = stage.app.dive
            assert dive is not None
            assert stage.app.shell.screens.current == "dive", "it did not open where it stopped"
            assert dive.desk is not None
            ringed = [spot.path for spot in dive.desk.view.board.spots if spot.last_touched]
            say(f"opened {dive.desk.page_address} {' '.join(ringed)}")
            while True:
                names = [
                    name for name in stage.targets() if name[0].isdigit() or name.startswith(("status:", "page:", "arm:", "way:"))
                ]
                if stage.app.shell.layers:  # a note is asked for
                    names = [name for name in stage.targets() if name in ("close", "later", "dismiss")]
                name = chance.choice([*names, *(name for name in ("sign_off", "undo") if name in stage.targets())])
                say(f"tapping {name}")
                stage.tap(name)
                say(f"tapped {store.last('k7f3qz')} {store.settings.get('page')} {store.settings.get('touched')}")


if __name__ == "__main__":
    which, *rest = sys.argv[1:]
    if which == "bare":
        bare()
    elif which == "start":
        start(*rest)
    else:
        taps(rest[0], int(rest[1]))
