"""Drives the tablet's real app: its real window in memory, real touches through Kivy's input, no display and no waiting.

Kivy is one per process, and its environment is read at its first import (see tests/screens/__init__.py). `Glass` says how
large a screen is, in pixels and on the glass.
"""

import gc
import itertools
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any, Final

from kivy.base import EventLoop
from kivy.clock import Clock as KivyClock
from kivy.input.motionevent import MotionEvent
from kivy.lang import Builder
from kivy.metrics import Metrics
from PIL import Image
from pydantic import JsonValue

from mobile.app import TabletApp, prepare_window
from mobile.day import Day
from mobile.desk import PageDesk
from mobile.screens.ashore import Ashore
from mobile.widgets.label import FitLabel
from mobile.widgets.target import TargetSpot
from mobile.words import Words, read_words

__all__ = ["GLASSES", "TABLET", "TABLET_FINE", "TABLET_FINEST", "Clock", "Finger", "Glass", "Memory", "Stage", "staged"]


@dataclass(frozen=True)
class Glass:
    """A screen: pixels, dots per inch, and the density that the platform reports."""

    width: int
    height: int
    dpi: float
    density: float

    def __str__(self) -> str:
        return f"{self.width}x{self.height}"


TABLET: Final = Glass(1280, 800, 149, 1.0)
"""A 10.1-inch tablet of plain resolution."""
TABLET_FINE: Final = Glass(1920, 1200, 224, 1.5)
"""The same with finer pixels."""
TABLET_FINEST: Final = Glass(2560, 1600, 299, 2.0)
"""The same with the finest."""
GLASSES: Final = (TABLET, TABLET_FINE, TABLET_FINEST)


class Memory:
    """Remembers nothing beyond the test."""

    def __init__(self, **values: JsonValue) -> None:
        self.values: dict[str, JsonValue] = dict(values)

    def get(self, name: str, default: JsonValue = None) -> JsonValue:
        """The value that was put last."""
        return self.values.get(name, default)

    def put(self, **values: JsonValue) -> None:
        """Keep values."""
        self.values.update(values)


@dataclass
class Clock:
    """Seconds that grow when a test says so."""

    now: float = 100.0

    def __call__(self) -> float:
        """The time."""
        return self.now


class Finger(MotionEvent):
    """A touch at a place on the window in pixels, from the lower left."""

    def __init__(self, x: float, y: float) -> None:
        super().__init__("test", _next_id(), {"x": x, "y": y}, is_touch=True, type_id="touch")

    def depack(self, args: dict[str, float]) -> None:
        """Take the place as a share of the window."""
        window = EventLoop.window
        self.sx, self.sy = args["x"] / (window.width - 1), args["y"] / (window.height - 1)
        self.profile = ["pos"]
        super().depack(args)


_ids = iter(range(1, 1_000_000))


def _next_id() -> int:
    return next(_ids)


@dataclass
class Stage:
    """The app on a glass. Places are named as widgets name their targets: `3.2.4`, `arm:2`, `status:lost`, `undo`.

    Where it `paints`, each tap ends with a painted frame; otherwise only pictures are painted, which saves half the time.
    """

    app: TabletApp
    glass: Glass
    clock: Clock
    paints: bool = False
    taps: int = field(default=0)

    @property
    def ashore(self) -> Ashore:
        """The screens before and after a dive."""
        assert self.app.ashore is not None
        return self.app.ashore

    @property
    def day(self) -> Day:
        """Today, on the tablet's record."""
        return self.ashore.day

    def frames(self, count: int = 3) -> None:
        """Let the app lay out what changed, without painting."""
        for _ in range(count):
            KivyClock.tick()
            Builder.sync()
            KivyClock.tick_draw()
            Builder.sync()

    def walk(self) -> Iterator[Any]:
        """Every widget that is shown, the topmost last; a hidden one hides what is in it."""
        yield from _walk(self.app.shell)

    def top_targets(self) -> Iterator[TargetSpot]:
        """What can be tapped in the topmost layer, or on the screen where nothing lies over it."""
        layers = self.app.shell.layers
        for widget in _walk(layers[-1]) if layers else self.walk():
            yield from getattr(widget, "targets", list)()

    def targets(self) -> dict[str, TargetSpot]:
        """Everything that can be tapped now, by name."""
        found: dict[str, TargetSpot] = {}
        for spot in self.top_targets():
            assert spot.name not in found, f"two targets are called {spot.name!r}"
            found[spot.name] = spot
        return found

    def labels(self) -> list[FitLabel]:
        """Every text that is shown."""
        return [widget for widget in self.walk() if isinstance(widget, FitLabel) and widget.text]

    def middle(self, name: str) -> tuple[float, float]:
        """The middle of a target."""
        targets = self.targets()
        assert name in targets, f"nothing here is called {name!r}; there are {sorted(targets)}"
        spot = targets[name]
        return spot.x + spot.width / 2, spot.y + spot.height / 2

    def down(self, x: float, y: float) -> Finger:
        """A finger comes down, and stays."""
        self.frames(2)
        finger = Finger(x, y)
        EventLoop.post_dispatch_input("begin", finger)
        self.frames(1)
        return finger

    def drag(self, finger: Finger, x: float, y: float) -> None:
        """It goes somewhere else."""
        finger.move({"x": x, "y": y})
        EventLoop.post_dispatch_input("update", finger)
        self.frames(1)

    def up(self, finger: Finger) -> None:
        """It goes up."""
        EventLoop.post_dispatch_input("end", finger)
        self.frames(2)
        if self.paints:
            EventLoop.idle()

    def wait_for(self, holds: Callable[[], bool], within_s: float = 60.0) -> None:
        """Let the app go on until something holds: what a thread does takes its own time."""
        end = time.monotonic() + within_s
        while not holds():
            assert time.monotonic() < end, f"it did not come true within {within_s} s"
            time.sleep(0.01)
            self.frames(1)
        self.frames(2)

    def tap(self, name: str, *, after_s: float = 1.0) -> None:
        """Tap the middle of a target, `after_s` seconds after the last tap."""
        self.clock.now += after_s
        self.up(self.down(*self.middle(name)))
        self.taps += 1

    def picture(self, path: Path | None = None) -> Image.Image:
        """What is on the window; also as a PNG at `path`."""
        for _ in range(3):
            EventLoop.idle()
        width, height = EventLoop.window.size
        pixels = _read_pixels(round(width), round(height))
        picture = Image.frombytes("RGBA", (round(width), round(height)), pixels).transpose(Image.Transpose.FLIP_TOP_BOTTOM)
        if path is not None:
            picture.convert("RGB").save(path, optimize=True)
        return picture


_stages = itertools.count()


def _bury() -> None:
    """Take dead apps away: until the collector comes they follow the look, and it comes late with so much imported."""
    number = next(_stages)
    if number % 4 == 0:
        gc.collect()
    if number == 0:
        gc.freeze()  # what was imported need not be looked through again


def _walk(widget: Any) -> Iterator[Any]:
    if widget.opacity == 0 or widget.disabled:
        return
    yield widget
    for child in reversed(widget.children):
        yield from _walk(child)


def _read_pixels(width: int, height: int) -> bytes:
    from kivy.graphics.opengl import GL_RGBA, GL_UNSIGNED_BYTE, glReadPixels  # noqa: PLC0415  # needs the open window

    return bytes(glReadPixels(0, 0, width, height, GL_RGBA, GL_UNSIGNED_BYTE))


@contextmanager
def staged(
    desk: PageDesk,
    glass: Glass = TABLET,
    words: Words | None = None,
    day: Day | None = None,
    clock: Clock | None = None,
    **preferences: JsonValue,
) -> Iterator[Stage]:
    """The app, started on a glass and stopped afterwards; with a `day`, on a tablet's record, and sending nothing by itself."""
    prepare_window(glass.width, glass.height)
    Metrics.dpi, Metrics.density = glass.dpi, glass.density
    KivyClock._max_fps = 0  # a test waits for no frame
    _bury()
    clock = clock or Clock()
    memory = Memory(**preferences) if day is None else day.store.settings
    memory.put(**({} if day is None else {"by_itself": False}) | preferences)
    # Never the words that the last test left, which may be no language's.
    app = TabletApp(memory, desk, clock, words or read_words(str(memory.get("language") or "en")), day)
    app._run_prepare()
    window = EventLoop.window
    Metrics.dpi, Metrics.density = glass.dpi, glass.density
    if tuple(window.size) != (glass.width, glass.height):
        window.size = (glass.width, glass.height)
    stage = Stage(app, glass, clock)
    stage.frames(8)
    EventLoop.idle()
    assert tuple(window.size) == (glass.width, glass.height), f"the window is {window.size}"
    try:
        yield stage
    finally:
        # What App.stop() does, but for closing the window, which the next test needs.
        app.dispatch("on_stop")
        for child in list(window.children):
            window.remove_widget(child)
        TabletApp._running_app = None
        stage.frames(1)
