"""The screens of a dive, put together: structures, pages, and what else there is to enter."""

from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Final

from kivy.clock import Clock

from mobile.day import Day
from mobile.detail import DetailDesk
from mobile.dive_desk import DiveDesk
from mobile.pictures import usual_folders
from mobile.rest import Rest
from mobile.screens.asking import Asking
from mobile.screens.details import DetailsScreen
from mobile.screens.dive_troubles import dive_trouble_text
from mobile.screens.more import MoreScreen
from mobile.screens.page import PageScreen, undo_text
from mobile.screens.page_deeds import PageDeeds
from mobile.screens.place_deeds import PlaceDeeds
from mobile.screens.read_back import ReadBackScreen
from mobile.screens.shell import Shell
from mobile.screens.structures import StructuresScreen
from mobile.screens.summing import Summing
from mobile.speech import Speaker
from mobile.structure_list import structure_row
from mobile.widgets.list_picker import Choice
from mobile.widgets.look import LOOK
from mobile.widgets.sheet import Banner
from shared_schema.errors import CrosstreeError

__all__ = ["Dive", "DiveWays"]

_REST_S: Final = 0.5


def _nobody(then: Callable[[], None]) -> None:
    """Nobody is asked for."""
    then()


@dataclass(frozen=True)
class DiveWays:
    """Where other screens begin."""

    home: Callable[[], None]
    sync: Callable[[], None]
    settings: Callable[[], None]
    lock: Callable[[], None]
    people: Callable[[Callable[[], None]], None] = _nobody


class Dive:
    """Adds its screens to a shell, and goes from one to the other. `desk` is there as soon as a structure was opened.

    `ways` lead nowhere until they are given. `speaker` and `pictures` are what the platform has for reading aloud and for
    finding photos.
    """

    def __init__(
        self,
        shell: Shell,
        day: Day,
        speaker: Speaker | None = None,
        pictures: Callable[[], tuple[Path, ...]] = usual_folders,
    ) -> None:
        self.shell, self.day = shell, day
        self.ways = DiveWays(*(lambda: None,) * 4)
        self.asking = Asking(shell)
        self.desk: DiveDesk | None = None
        self._names: dict[str, str] = {}
        self.structures = StructuresScreen(name="structures", look_up=lambda name: structure_row(day.store, name, day.survey))
        self.page = PageScreen(name="dive", crew=self.names)
        self.details = DetailsScreen(name="details", asking=self.asking, pictures=pictures, names=self.names)
        self.more = MoreScreen(name="more")
        self.read_back = ReadBackScreen(name="read_back", speaker=speaker or Speaker())
        for screen in (self.structures, self.page, self.details, self.more, self.read_back):
            shell.screens.add_widget(screen)
        self.summing = Summing(shell, day, self.asking, lambda: self.desk, self.names)
        self._place_deeds = PlaceDeeds(self.asking, self.act, self.say)
        self._page_deeds = PageDeeds(self.asking, self.act)
        self._rest = Rest(day.store.database)
        self._resting = Clock.schedule_interval(self._take_rest, _REST_S)
        self._bind()

    def names(self) -> dict[str, str]:
        """People's names by their ids."""
        return self._names

    # Where to go

    def go_structures(self, *_event: object) -> None:
        """Show the structures that were loaded; the next start does not go back to the page."""
        self.day.store.settings.put(page=None)
        today = self.day.today
        here, undo = ("", "") if self.desk is None else (self.desk.open.name, undo_text(self.desk.view.done))
        self.structures.refresh(today.survey_name or today.survey, today.structures, here, undo)
        self.shell.go("structures")

    def open(self, structure: str, page: str = "") -> None:
        """Show a structure, at a page (a path) or at the first that nobody finished."""
        if not self.day.today.can_record:
            self.say(LOOK.words.text("Say first who is aboard, and load a survey."))
            return
        try:
            if self.desk is None or not self._same_crew(self.desk):
                carry = None if self.desk is None else self.desk.view.carry
                self.desk = DiveDesk(self.day.recorder(), structure, page)
                self.desk.take_up(carry)
            else:
                self.desk.show(structure, page)
        except CrosstreeError as error:
            self.tell(error)
            return
        self._names = {person.id: person.name for person in self.day.people}
        self.page.desk = self.desk
        self.go_page()

    def resume(self) -> bool:
        """Show the page that was open when the tablet stopped; False where there was none, or it is not here any more."""
        where = self.day.store.settings.get("page")
        structure, _, page = where.partition("/") if isinstance(where, str) else ("", "", "")
        if structure in self.day.structures and self.day.today.can_record:
            self.open(structure, page)
        return self.desk is not None

    def go_page(self, *_event: object) -> None:
        """Show the page as things are now."""
        self.page.show()
        self.shell.go("dive")

    def go_details(self, *_event: object) -> None:
        """Say more of what is selected; of which, where two hang there."""
        desk = self._there
        if not desk.selection:
            self.say(LOOK.words.text("Tap a place first."))
            return
        names = desk.open.meant(desk.open.path(desk.selection[0])) if len(desk.selection) == 1 else ()
        if len(names) > 1:
            self._ask_which(names, self._open_details)
        else:
            self._open_details("")

    def go_more(self, *_event: object) -> None:
        """Show what else can be done."""
        self.more.refresh(self._there)
        self.shell.go("more")

    def go_read_back(self, *_event: object) -> None:
        """Read the page back."""
        self.read_back.open(self._there)
        self.shell.go("read_back")

    def go_summary(self, *_event: object) -> None:
        """What the structure that is open came to."""
        self.summing.show(self._there.open.name)

    def go_whole_summary(self, *_event: object) -> None:
        """What all structures came to of which this survey has anything."""
        self.summing.show()

    def close(self) -> None:
        """Let the desk go: nothing shown here reads its store any more."""
        self.read_back.speaker.hush()
        self._resting.cancel()
        self._rest.close()
        self.desk = self.page.desk = self.details.detail = None

    # What is done

    def act(self, deed: Callable[[DiveDesk], object]) -> None:
        """Do something with the desk, then show the page; where it cannot be done, say so."""
        desk = self._there
        finished = desk.open.finished
        try:
            deed(desk)
        except CrosstreeError as error:
            self.go_page()
            self.tell(error)
            return
        if self.shell.screens.current == "summary":
            self.summing.again()
        elif desk.open.finished and not finished:
            self.go_summary()
        elif not self.shell.layers:
            self.go_page()

    def tell(self, error: CrosstreeError) -> None:
        """Say what went wrong, until it is put away."""
        self.say(dive_trouble_text(error), "stop")

    def say(self, text: str, state: str = "look") -> None:
        """Say something, until it is put away."""
        banner = Banner(state=state, text=text, pos_hint={"top": 1})
        banner.bind(on_dismiss=lambda *_: self.shell.lift(banner))
        self.shell.lay_over(banner)

    @property
    def _there(self) -> DiveDesk:
        if self.desk is None:
            raise RuntimeError("no structure was opened yet")
        return self.desk

    def _take_rest(self, *_when: object) -> None:
        self._rest.take(self.shell.clock() - self.shell.touched)

    def _trouble(self, _screen: Any, error: CrosstreeError) -> bool:
        self.tell(error)
        return True  # it was told: the screen need not raise it

    def _offer(self, _screen: Any, key: str) -> None:
        desk, places, pages = self._there, self._place_deeds, self._page_deeds
        {
            "move": lambda: places.move(desk),
            "plant": lambda: places.plant(desk),
            "replant": lambda: places.plant(desk, replant=True),
            "cut": lambda: places.cut(desk),
            "outplant": lambda: places.outplant(desk),
            "found": lambda: places.found(desk),
            "upkeep": lambda: pages.upkeep(desk),
            "not_reached": lambda: pages.not_reached(desk),
            "note": lambda: pages.note(desk),
            "read_back": self.go_read_back,
            "summary": self.go_summary,
            "people": lambda: self.ways.people(self._with_others),
            "wipe": self.ways.lock,
        }[key]()

    def _with_others(self) -> None:
        """Go on at the same page, as whoever saw and typed now."""
        self.open(self._there.open.name, self._there.page.path)

    def _open_details(self, fragment: str) -> None:
        self.details.open(DetailDesk(self._there, fragment))
        self.shell.go("details")

    def _ask_which(self, fragments: tuple[str, ...], then: Callable[[str], None]) -> None:
        title = LOOK.words.text("Two hang here. Which one is meant?")
        self.asking.choose(title, [Choice(name, name) for name in fragments], then)

    def _undo(self, *_event: object) -> None:
        screen = self.shell.screens.current
        self._there.undo()
        {"more": self.go_more, "summary": self.summing.again}.get(screen, self.go_page)()

    def _send(self, *_event: object) -> None:
        self.day.store.settings.put(page=None)
        self.ways.sync()

    def _summary_page(self, _screen: Any, address: str) -> None:
        structure, _, page = address.partition("/")
        self.open(structure, page)

    def _summary_ask(self, _screen: Any, key: str) -> None:
        sort, _, where = key.partition(":")
        if sort == "question":
            self.summing.ask(where)
        else:
            self.open(*where.split("/"))
            self._page_deeds.explain(self._there, where)

    def _same_crew(self, desk: DiveDesk) -> bool:
        """Whether whoever saw, and typed, and the dive, are still the same."""
        now, then = self.day.recorder(), desk.recorder
        return (now.by, now.typed_by, now.survey, now.visit) == (then.by, then.typed_by, then.survey, then.visit)

    def _bind(self) -> None:
        self.structures.bind(
            on_leave_structures=lambda *_: self.ways.home(),
            on_structure=lambda _screen, structure: self.open(structure),
            on_summary=self.go_whole_summary,
            on_undo=self._undo,
        )
        self.page.bind(
            on_leave_page=self.go_structures,
            on_details=self.go_details,
            on_more=self.go_more,
            on_which=lambda _s, names: self._ask_which(names, lambda name: self.page.act("pick_fragment", name)),
            on_doubts=lambda _screen, page: self._page_deeds.explain(self._there, page),
            on_finished=self.go_summary,
            on_trouble=self._trouble,
        )
        self.details.bind(on_leave_details=self.go_page, on_trouble=self._trouble)
        self.more.bind(on_leave_more=self.go_page, on_undo=self._undo, on_offer=self._offer)
        self.read_back.bind(on_leave_read_back=self.go_page)
        self.summing.screen.bind(
            on_leave_summary=lambda *_: self.go_page() if self.desk is not None else self.go_structures(),
            on_undo=self._undo,
            on_page=self._summary_page,
            on_ask=self._summary_ask,
            on_structures=self.go_structures,
            on_send=self._send,
        )
