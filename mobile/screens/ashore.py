"""The screens before and after a dive, put together: from the first start to the last entry sent."""

from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Final

from kivy.clock import Clock

from mobile.day import Day
from mobile.errands import Ended, Errands
from mobile.invitation import Invitation
from mobile.lookout import Lookout
from mobile.news import News
from mobile.receipt import standstill
from mobile.screens.aboard import AboardScreen
from mobile.screens.asking import Asking
from mobile.screens.enrol import EnrolScreen
from mobile.screens.home import HomeScreen
from mobile.screens.load import LoadScreen
from mobile.screens.log import LogScreen
from mobile.screens.news_words import change_choice
from mobile.screens.notices import notice_text
from mobile.screens.people import People
from mobile.screens.scan import ScanScreen
from mobile.screens.shell import Shell
from mobile.screens.sync import SyncScreen
from mobile.screens.tasks import TasksScreen
from mobile.widgets.camera import CameraSource
from mobile.widgets.list_picker import ListPicker
from mobile.widgets.look import LOOK
from mobile.widgets.sheet import Banner
from shared_schema.ids import parse_address

__all__ = ["Ashore", "Ways"]

_LOOK_OUT_S: Final = 2.0


@dataclass(frozen=True)
class Ways:
    """Where other screens begin: the structures, one by its id at a page by its path (empty for the next), the settings.

    `practise` offers the practice slates, and calls what it is given to come back.
    `pictures` are the folders where photos are looked for.
    """

    structures: Callable[[], None]
    structure: Callable[[str, str], None]
    settings: Callable[[], None]
    practise: Callable[[Callable[[], None]], None]
    pictures: tuple[Path, ...] = ()


class Ashore:
    """Adds its screens to a shell, and goes from one to the other.

    `errands` reach the server, `clerk` reads the tablet, `scout` looks for a network.
    """

    def __init__(self, shell: Shell, day: Day, errands: Errands, clerk: Errands, scout: Errands, ways: Ways) -> None:
        self.shell, self.day, self.errands, self.clerk, self.ways = shell, day, errands, clerk, ways
        self.asking = Asking(shell)
        self.people = People(day, self.asking)
        self.enrol = EnrolScreen(name="enrol", errands=errands, asking=self.asking, source=CameraSource())
        self.scan: ScanScreen | None = None
        self.home = HomeScreen(name="home", day=day)
        self.aboard = AboardScreen(name="aboard", day=day, asking=self.asking)
        self.load = LoadScreen(name="load", day=day, errands=errands, clerk=clerk, asking=self.asking)
        self.lookout = Lookout(day.store.settings, shell.clock)
        self.sync = SyncScreen(name="sync", day=day, errands=errands, lookout=self.lookout)
        self.log = LogScreen(name="log", day=day, asking=self.asking, folders=ways.pictures)
        self.tasks = TasksScreen(name="tasks", day=day, clerk=clerk, asking=self.asking, open_structure=ways.structure)
        for screen in (self.enrol, self.home, self.aboard, self.load, self.log, self.tasks, self.sync):
            shell.screens.add_widget(screen)
        self._scout = scout
        self._ticking = Clock.schedule_interval(self.look_out, _LOOK_OUT_S)
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
        if name in ("load", "tasks"):
            screen.look_over()
        if name in ("home", "sync"):
            self.tell_notices()

    def go_home(self, *_event: object) -> None:
        """Show the home screen, or the way in where the tablet is not let in yet."""
        self.go(self.first)

    def show_scan(self, *_event: object) -> None:
        """Look for the office's picture; what is found stands on the first screen then."""
        if self.scan is None:  # not at every start: a tablet is let in once
            self.scan = ScanScreen(name="scan", clock=self.shell.clock)
            self.shell.screens.add_widget(self.scan)
            self.scan.bind(on_leave_scan=self.go_home, on_type=self._type, on_found=self._found)
        self.scan.source = self.enrol.source
        self.shell.go("scan")

    def let_go(self) -> None:
        """Give back what no other program can have meanwhile."""
        if self.scan is not None:
            self.scan.end()

    def take_up(self) -> None:
        """Go on where it was let go."""
        if self.scan is not None and self.shell.screens.current == "scan":
            self.scan.begin()

    def close(self) -> None:
        """Let what is under way end."""
        self.let_go()
        self._ticking.cancel()
        for one in (self._scout, self.errands, self.clerk):
            one.close()

    def _type(self, *_event: object) -> None:
        self.go_home()
        self.enrol.ask_url()

    def _found(self, _screen: ScanScreen, invitation: Invitation) -> None:
        self.enrol.take(invitation)
        self.go_home()

    def look_out(self, *_when: object) -> None:
        """Knock at the server's door, where it is time; where it answers, send and fetch by itself."""
        store = self.day.store
        if not self.day.enrolled or self.errands.busy:
            return
        if self.lookout.due(self.shell.touched, waiting=not standstill(store).safe):
            self._scout.start(lambda errand: errand.sync(tries=1).knock(), self._knocked)

    def _knocked(self, end: Ended[None]) -> None:
        self.lookout.heard(answered=end.trouble is None)
        if end.trouble is None:
            self.sync.send(quiet=True)

    def tell_notices(self) -> None:
        """Show the oldest notice until it is put away, then the next."""
        notices = self.day.store.notices
        if not notices.all:
            return
        notice = notices.all[0]
        banner = Banner(state="stop", text=notice_text(notice), pos_hint={"top": 1})

        def put_away(*_event: object) -> None:
            notices.dismiss(notice.number)
            self.shell.lift(banner)
            self.tell_notices()

        banner.bind(on_dismiss=put_away)
        self.shell.lay_over(banner)

    def show_news(self) -> None:
        """What others entered, the latest first; closing it says that it was seen."""
        _, news = LOOK.words.text, News(self.day.store)
        names = {person.id: person.name for person in self.day.people}
        changes = news.all
        picker = ListPicker(choices=[change_choice(change, names) for change in changes], empty=_("Nothing new came."))
        by_key = {change.entry.id: change for change in changes}

        def pick(_picker: object, key: str) -> None:
            change = by_key[key]
            page = parse_address(change.where).path.partition(".")[0] if "/" in change.where else ""
            self.asking.answer(lambda: self.ways.structure(change.structure, page))

        def seen() -> None:
            news.seen()
            self.sync.refresh()

        picker.bind(on_pick=pick)
        self.asking.show(_("What changed"), picker, closes=_("Seen"), closed=seen)

    def _bind(self) -> None:
        self.enrol.bind(on_enrolled=self.go_home, on_scan=self.show_scan, on_settings=_call(self.ways.settings))
        self.home.bind(on_way=lambda _home, name: self._take(name))
        self.aboard.bind(on_leave_aboard=self.go_home)
        self.log.bind(on_leave_log=self.go_home)
        self.tasks.bind(on_leave_tasks=self.go_home, waiting=self.home.setter("waiting"))
        self.load.bind(on_leave_load=self.go_home, on_loaded=lambda *_: News(self.day.store).begin())
        self.sync.bind(
            on_leave_sync=self.go_home,
            on_open=lambda _screen, what: self.show_news() if what == "news" else self.show_questions(),
            on_visit=lambda _screen, visit: self.show_dive(visit),
            on_synced=self._synced,
            doing=self.home.setter("sending"),
        )

    def show_questions(self) -> None:
        """The places where records disagree."""
        self.tasks.only = "question"
        self.go("tasks")

    def show_dive(self, visit: str) -> None:
        """Go on with a dive."""
        if visit:
            self.log.open(visit)
            self.go("log")

    def _synced(self, *_event: object) -> None:
        """Show what a sync changed, and leave alone whatever lies over it."""
        if self.shell.screens.current == "home":
            self.home.refresh()
        if self.shell.screens.current in ("home", "sync") and not self.shell.layers:
            self.tell_notices()

    def _take(self, way: str) -> None:
        if way in ("saw", "types"):
            self.people.ask_one(way, self.home.refresh)
            return
        if way == "tasks":
            self.tasks.only = "all"
        elsewhere: dict[str, Callable[[], None]] = {
            "structures": self.ways.structures,
            "settings": self.ways.settings,
            "practise": lambda: self.ways.practise(self.go_home),
        }
        if way in elsewhere:
            elsewhere[way]()
        else:
            self.go({"dive": "log"}.get(way, way))


def _call(way: Callable[[], None]) -> Callable[..., None]:
    def call(*_event: Any) -> None:
        way()

    return call
