"""The tablet's program: puts preferences, screens and the window together. It is started by start.py."""

import gc
import time
from collections.abc import Callable
from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING, Any

from kivy.app import App
from kivy.clock import Clock, mainthread
from kivy.lang import Builder

from mobile.day import Day
from mobile.desk import PageDesk
from mobile.errands import Errands, new_client
from mobile.preferences import Memory, PreferenceKeeper
from mobile.screens.ashore import Ashore, Ways
from mobile.screens.calibrate import CalibrateScreen
from mobile.screens.dive import Dive, DiveWays
from mobile.screens.page import PageScreen
from mobile.screens.rules import load_rules
from mobile.screens.settings import SettingsScreen
from mobile.screens.shell import Shell
from mobile.screens.still_taker import StillTaker
from mobile.still import StillShelf
from mobile.store import Store
from mobile.widgets.look import LOOK
from mobile.widgets.sheet import ScreenLock
from mobile.widgets.window import glass_of, open_window, prepare_window
from mobile.words import Words

if TYPE_CHECKING:
    import httpx

    from mobile.screens.training import Training

__all__ = ["TabletApp", "prepare_window", "run_tablet"]

_LAYOUTS = 3  # a size may follow from another one


class TabletApp(App):
    """The tablet, with what it remembers in `memory`.

    With a `day`, it has the screens of a day and starts with them; without, there is the `desk` of pages alone, to practise
    and to look at. `folders` are where photos are looked for. `clock` gives seconds that only grow;
    `words` stand in for those of the language, where they are given.
    """

    title = "Crosstree"

    def __init__(
        self,
        memory: Memory,
        desk: PageDesk | None,
        clock: Callable[[], float] = time.monotonic,
        words: Words | None = None,
        day: Day | None = None,
        client: "Callable[[], httpx.Client]" = new_client,
        folders: tuple[Path, ...] = (),
    ) -> None:
        super().__init__()
        self._keeper = PreferenceKeeper(memory)
        self._desk, self._clock, self._words = desk, clock, words
        self._day, self._client, self._folders = day, client, folders
        self.ashore: Ashore | None = None
        self.dive: Dive | None = None
        self._taker: StillTaker | None = None
        self.training: Training | None = None

    def load_kv(self, filename: str | None = None) -> bool:  # noqa: ARG002  # Kivy's signature
        """Nothing is loaded by the app's name: the rules are named one by one."""
        return False

    def build(self) -> Shell:
        """The shell with its screens."""
        load_rules()
        LOOK.take(self._keeper.now, self._words)
        self.shell = Shell(self._clock)
        self.settings = SettingsScreen(name="settings", change=self.change)
        self.calibrate = CalibrateScreen(name="calibrate")
        for screen in (self.settings, self.calibrate):
            self.shell.screens.add_widget(screen)
        self._before_settings = "page"
        self.settings.bind(on_leave_settings=lambda *_: self.shell.go(self._before_settings))
        self.settings.bind(on_calibrate=lambda *_: self.shell.go("calibrate"))
        self.settings.bind(on_practise=lambda *_: self.practise(lambda: self.shell.go("settings")))
        self.calibrate.bind(on_measured=self._measured)
        if self._day is not None:
            self.ashore = self._go_ashore(self._day)
        else:
            self._show_desk()
        return self.shell

    def _show_desk(self) -> None:
        """The desk alone, and the settings behind it."""
        page = PageScreen(name="page")
        page.desk = self._desk
        page.bind(on_leave_page=lambda *_: self.open_settings_screen())
        self.shell.screens.add_widget(page)
        self.shell.go("page")

    def _go_ashore(self, day: Day) -> Ashore:
        """The screens before and after a dive, and the way in."""
        errands, clerk, scout = (Errands(day.store.path, mainthread(_call), day.clock, self._client) for _ in range(3))
        dive = self.dive = Dive(self.shell, day, pictures=lambda: self._folders)
        ways = Ways(dive.go_structures, dive.open, self.open_settings_screen, self.practise, self._folders)
        ashore = Ashore(self.shell, day, errands, clerk, scout, ways)
        dive.ways = DiveWays(ashore.go_home, lambda: ashore.go("sync"), self.open_settings_screen, self.lock, ashore.people.ask)
        if not dive.resume():
            ashore.go(ashore.first)
        return ashore

    def take_stills(self) -> None:
        """Keep a picture of the page where it would start again."""
        if self._day is not None and self.dive is not None:
            shelf = StillShelf(self._day.store.database, glass_of(open_window()))
            self._taker = StillTaker(self.shell, self.dive, shelf)

    def on_pause(self) -> bool:
        """Another program comes to the front: it may want the camera. Gives whether this one may go on sleeping."""
        if self.ashore is not None:
            self.ashore.let_go()
        return True

    def on_resume(self) -> None:
        """It is in front again."""
        if self.ashore is not None:
            self.ashore.take_up()

    def on_stop(self) -> None:
        """Let what is under way end: what is on disk is whole."""
        if self._taker is not None:
            self._taker.close()
        if self.dive is not None:
            self.dive.close()
        if self.ashore is not None:
            self.ashore.close()

    def open_settings_screen(self) -> None:
        """Show the settings; from there it goes back to where it came from."""
        self._before_settings = self.shell.screens.current
        self.shell.go("settings")

    def practise(self, leave: Callable[[], None]) -> None:
        """Offer the practice slates; `leave` shows what was there before."""
        if self.training is None:  # not at every start: it has a page of its own
            from mobile.screens.training import Training  # noqa: PLC0415

            self.training = Training(self.shell)
        self.training.open(leave)

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


def _call(call: Callable[[], None]) -> None:
    call()


def _now() -> datetime:
    return datetime.now().astimezone()


def run_tablet(data: Path, folders: tuple[Path, ...]) -> None:
    """Run it on the database in a file, until its window is closed. Raises StorageError where the file cannot be used."""
    # Reading the whole file first would take seconds, and nobody has them on a boat: damage shows when it is met.
    with Store(data, check=False) as store:
        app = TabletApp(store.settings, None, day=Day(store, _now), folders=folders)
        app.bind(on_start=lambda *_: _begin(app))
        app.run()


def _begin(app: TabletApp) -> None:
    """All is there: lay it out before the touches that waited are looked at, or they would meet nothing."""
    for _ in range(_LAYOUTS):
        Builder.sync()
        Clock.tick_draw()
        Builder.sync()
    app.take_stills()
    gc.freeze()  # what a start made stays: looking through it again would hold up a tap
    gc.enable()
