"""The tablet's program: puts preferences, screens and the window together."""

import argparse
import time
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import Any

from kivy.app import App
from kivy.config import Config

from mobile.database import Database
from mobile.desk import PageDesk, PracticeDesk
from mobile.preferences import Memory, PreferenceKeeper
from mobile.screens.calibrate import CalibrateScreen
from mobile.screens.page import PageScreen
from mobile.screens.rules import load_rules
from mobile.screens.settings import SettingsScreen
from mobile.screens.shell import Shell
from mobile.settings import Settings
from mobile.widgets.look import LOOK
from mobile.widgets.sheet import ScreenLock
from mobile.words import Words
from shared_schema.designs import parse_design

__all__ = ["TabletApp", "main", "prepare_window"]


def prepare_window(width: int = 1280, height: int = 800) -> None:
    """Tell Kivy how its window is to be. It listens only until the window opens, which is when the app starts."""
    Config.set("input", "mouse", "mouse,disable_multitouch")
    Config.set("kivy", "exit_on_escape", "0")
    Config.set("graphics", "multisamples", "0")
    Config.set("graphics", "width", str(width))
    Config.set("graphics", "height", str(height))


class TabletApp(App):
    """The tablet on a desk of pages, with what it remembers in `memory`.

    `clock` gives seconds that only grow; `words` stand in for those of the language, where they are given.
    """

    title = "Crosstree"

    def __init__(
        self, memory: Memory, desk: PageDesk, clock: Callable[[], float] = time.monotonic, words: Words | None = None, **kwargs: Any
    ) -> None:
        super().__init__(**kwargs)
        self._keeper = PreferenceKeeper(memory)
        self._desk, self._clock, self._words = desk, clock, words

    def load_kv(self, filename: str | None = None) -> bool:  # noqa: ARG002  # Kivy's signature
        """Nothing is loaded by the app's name: the rules are named one by one."""
        return False

    def build(self) -> Shell:
        """The shell with its screens."""
        load_rules()
        LOOK.take(self._keeper.now, self._words)
        self.shell = Shell(self._clock)
        self.page = PageScreen(name="page")
        self.page.desk = self._desk
        self.settings = SettingsScreen(name="settings", change=self.change)
        self.calibrate = CalibrateScreen(name="calibrate")
        for screen in (self.page, self.settings, self.calibrate):
            self.shell.screens.add_widget(screen)
        self.page.bind(on_leave_page=lambda *_: self.shell.go("settings"))
        self.settings.bind(on_leave_settings=lambda *_: self.shell.go("page"))
        self.settings.bind(on_calibrate=lambda *_: self.shell.go("calibrate"))
        self.calibrate.bind(on_measured=self._measured)
        return self.shell

    def change(self, **values: Any) -> None:
        """Keep other preferences, then show them."""
        LOOK.take(self._keeper.change(**values))
        self.settings.on_preferences()

    def lock(self) -> None:
        """Deafen the screen for wiping."""
        lock = ScreenLock()
        lock.bind(on_open=lambda *_: self.shell.lift(lock))
        self.shell.lay_over(lock)

    def open_settings(self, *_args: object) -> bool:
        """Kivy's own settings stay shut, whatever key is pressed."""
        return False

    def _measured(self, _screen: object, factor: float) -> None:
        self.change(factor=factor)
        self.shell.go("settings")


def main(arguments: Sequence[str] | None = None) -> int:
    """Run the tablet in a window, on a tree to practise on; what its user prefers is kept in a file."""
    parser = argparse.ArgumentParser(prog="crosstree tablet", description=main.__doc__)
    parser.add_argument("--data", type=Path, required=True, metavar="FILE", help="the tablet's database")
    parser.add_argument("--width", type=int, default=1280, metavar="PIXELS")
    parser.add_argument("--height", type=int, default=800, metavar="PIXELS")
    chosen = parser.parse_args(arguments)
    prepare_window(chosen.width, chosen.height)
    database = Database(chosen.data)
    try:
        TabletApp(Settings(database), PracticeDesk("T00", parse_design({"design": "tree"}))).run()
    finally:
        database.close()
    return 0
