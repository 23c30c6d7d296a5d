"""The screens before and after a dive, put together: from the first start to the last entry sent."""

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

from mobile.day import Day
from mobile.errands import Errands
from mobile.screens.aboard import AboardScreen
from mobile.screens.asking import Asking
from mobile.screens.enrol import EnrolScreen
from mobile.screens.home import HomeScreen
from mobile.screens.load import LoadScreen
from mobile.screens.shell import Shell

__all__ = ["Ashore", "Ways"]


@dataclass(frozen=True)
class Ways:
    """Where other screens begin: the structures, a structure by its id, the settings (and back to where)."""

    structures: Callable[[], None]
    structure: Callable[[str], None]
    settings: Callable[[], None]


class Ashore:
    """Adds its screens to a shell, and goes from one to the other. `errands` reach the server, `clerk` reads the tablet."""

    def __init__(self, shell: Shell, day: Day, errands: Errands, clerk: Errands, ways: Ways) -> None:
        self.shell, self.day, self.errands, self.clerk, self.ways = shell, day, errands, clerk, ways
        self.asking = Asking(shell)
        self.enrol = EnrolScreen(name="enrol", errands=errands, asking=self.asking)
        self.home = HomeScreen(name="home", day=day)
        self.aboard = AboardScreen(name="aboard", day=day, asking=self.asking)
        self.load = LoadScreen(name="load", day=day, errands=errands, clerk=clerk, asking=self.asking)
        for screen in (self.enrol, self.home, self.aboard, self.load):
            shell.screens.add_widget(screen)
        self._bind()

    @property
    def first(self) -> str:
        """The screen that a start shows, where no page was open."""
        return "home" if self.day.enrolled else "enrol"

    def go(self, name: str) -> None:
        """Show one of its screens as things are now."""
        screen = getattr(self, name)
        if name != "enrol":
            screen.refresh()
        self.shell.go(name)
        if name == "load":
            screen.look_over()

    def go_home(self, *_event: object) -> None:
        """Show the home screen, or the way in where the tablet is not let in yet."""
        self.go(self.first)

    def close(self) -> None:
        """Let what is under way end."""
        self.errands.close()
        self.clerk.close()

    def _bind(self) -> None:
        self.enrol.bind(on_enrolled=self.go_home, on_settings=_call(self.ways.settings))
        self.home.bind(on_way=lambda _home, name: self._take(name))
        self.aboard.bind(on_leave_aboard=self.go_home)
        self.load.bind(on_leave_load=self.go_home)

    def _take(self, way: str) -> None:
        elsewhere = {"structures": self.ways.structures, "settings": self.ways.settings}
        if way in elsewhere:
            elsewhere[way]()
        else:
            self.go(way)


def _call(way: Callable[[], None]) -> Callable[..., None]:
    def call(*_event: Any) -> None:
        way()

    return call
