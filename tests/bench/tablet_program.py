"""Programs that the tablet's benchmarks start, by name: bare, start DATA, ready DATA, settle DATA, taps DATA SEED.

`bare` opens a window with nothing in it, `start` the tablet on its record: each says `shown` with its third frame, for the
first ones are blank, and ends; the tablet counts only frames with a page in them. `ready` counts those that the app itself
drew, which answers to taps by then. `settle` leaves the tablet alone until it has kept its still. `taps` enters a page at
random, as fast as it can, until it is killed, and tells each tap before it is made and after it was painted.
"""

import os
import random
import sys
import time
from collections.abc import Callable
from datetime import UTC, datetime
from pathlib import Path
from typing import TYPE_CHECKING, Any

import tests.screens  # noqa: F401  # Kivy's environment, before its first import

if TYPE_CHECKING:
    from tests.screens.harness import Stage


def say(text: str) -> None:
    """A line that is on its way when this returns."""
    sys.stdout.write(text + "\n")
    sys.stdout.flush()


def until_the_third_frame(window: Any, counts: Callable[[], bool] = lambda: True) -> None:
    """Say when it was shown, and end; only frames that count are counted."""
    frames = iter(range(1, 1_000_000))

    def shown(*_window: object) -> None:
        if counts() and next(frames) == 3:
            say("shown")
            os._exit(0)
        window.canvas.ask_update()

    window.bind(on_flip=shown)


def with_the_window(then: Callable[[Any], None]) -> None:
    """Have something called with the window as soon as there is one."""
    from kivy.base import EventLoop  # noqa: PLC0415  # opens no window yet

    taken = EventLoop.set_window

    def take(window: Any) -> None:
        taken(window)
        then(window)

    EventLoop.set_window = take


def has_a_page(window: Any) -> bool:
    """Whether a line across the middle of the window has several colours, as no empty window has."""
    from kivy.graphics.opengl import GL_RGBA, GL_UNSIGNED_BYTE, glReadPixels  # noqa: PLC0415  # needs the open window

    width, height = (round(pixels) for pixels in window.size)
    line = bytes(glReadPixels(0, height // 2, width, 1, GL_RGBA, GL_UNSIGNED_BYTE))
    return len({line[at : at + 4] for at in range(0, len(line), 4)}) > 4


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
            from kivy.core.window import Window  # noqa: PLC0415  # opens the window

            until_the_third_frame(Window)
            return Widget()

    Bare().run()


def start(data: str) -> None:
    """The tablet as its user starts it."""
    from mobile.start import main  # noqa: PLC0415

    with_the_window(lambda window: until_the_third_frame(window, lambda: has_a_page(window)))
    main(["--data", data])


def ready(data: str) -> None:
    """The same, until what is shown answers to taps."""
    from mobile.start import main  # noqa: PLC0415

    def answers() -> bool:
        return "mobile.app" in sys.modules and App.get_running_app() is not None

    from kivy.app import App  # noqa: PLC0415

    with_the_window(lambda window: until_the_third_frame(window, answers))
    main(["--data", data])


def settle(data: str) -> None:
    """The same, until it was left alone long enough to have kept its still."""
    from mobile import app  # noqa: PLC0415
    from mobile.start import main  # noqa: PLC0415
    from mobile.still import StillShelf  # noqa: PLC0415

    class Watched(StillShelf):
        def has(self, width: int, height: int) -> bool:
            if super().has(width, height):
                say("kept")
                os._exit(0)
            return False

        def keep(self, width: int, height: int, packed: bytes, moment: tuple[int, int]) -> bool:
            say("kept" if super().keep(width, height, packed, moment) else "refused")
            os._exit(0)

    vars(app)["StillShelf"] = Watched  # the program ends with it
    main(["--data", data])


def shown(stage: "Stage") -> bytes:
    """What is on the window, as a still has it."""
    from PIL.Image import Transpose  # noqa: PLC0415

    return stage.picture().transpose(Transpose.FLIP_TOP_BOTTOM).tobytes()


def taps(data: str, seed: int) -> None:
    """Enter at random until killed."""
    from kivy.base import EventLoop  # noqa: PLC0415

    from mobile.day import Day  # noqa: PLC0415
    from mobile.desk import PracticeDesk  # noqa: PLC0415
    from mobile.screens.still_taker import StillTaker  # noqa: PLC0415
    from mobile.still import StillShelf  # noqa: PLC0415
    from mobile.store import Store  # noqa: PLC0415
    from mobile.widgets.window import glass_of  # noqa: PLC0415
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
            shelf = StillShelf(store.database, glass_of(EventLoop.window))
            still = shelf.read(stage.glass.width, stage.glass.height)
            say("still none" if still is None else f"still {still.pixels == shown(stage)}")
            taker = StillTaker(stage.app.shell, dive, shelf)
            while True:
                if chance.random() < 0.25:  # nobody taps for a while
                    stage.clock.now += 2
                    taker.look()
                    for _ in range(8):
                        EventLoop.idle()
                        time.sleep(0.01)
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
    elif which == "taps":
        taps(rest[0], int(rest[1]))
    else:
        {"start": start, "ready": ready, "settle": settle}[which](rest[0])
