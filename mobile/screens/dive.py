"""The screens of a dive, put together: structures, pages, and what else there is to enter."""

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

from mobile.day import Day
from mobile.dive_desk import DiveDesk
from mobile.screens.asking import Asking
from mobile.screens.page import PageScreen
from mobile.screens.shell import Shell
from mobile.screens.structures import StructuresScreen
from mobile.screens.troubles import trouble_text
from mobile.structure_list import structure_row
from mobile.widgets.list_picker import Choice
from mobile.widgets.look import LOOK
from mobile.widgets.sheet import Banner
from shared_schema.errors import CrosstreeError
from shared_schema.ids import parse_address

__all__ = ["Dive", "DiveWays"]


@dataclass(frozen=True)
class DiveWays:
    """Where other screens begin."""

    home: Callable[[], None]
    sync: Callable[[], None]
    settings: Callable[[], None]
    lock: Callable[[], None]


class Dive:
    """Adds its screens to a shell, and goes from one to the other. `desk` is there as soon as a structure was opened.

    `ways` lead nowhere until they are given.
    """

    def __init__(self, shell: Shell, day: Day) -> None:
        self.shell, self.day = shell, day
        self.ways = DiveWays(*(lambda: None,) * 4)
        self.asking = Asking(shell)
        self.desk: DiveDesk | None = None
        self._names: dict[str, str] = {}
        self.structures = StructuresScreen(name="structures", look_up=lambda name: structure_row(day.store, name, day.survey))
        self.page = PageScreen(name="dive", crew=lambda: self._names)
        for screen in (self.structures, self.page):
            shell.screens.add_widget(screen)
        self._bind()

    def go_structures(self, *_event: object) -> None:
        """Show the structures that were loaded."""
        today = self.day.today
        here = "" if self.desk is None else self.desk.open.name
        self.structures.refresh(today.survey_name or today.survey, today.structures, here)
        self.shell.go("structures")

    def open(self, structure: str, page: str = "") -> None:
        """Show a structure, at a page (a path) or at the first that nobody finished."""
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
        if not isinstance(where, str) or not self.day.today.can_record:
            return False
        address = parse_address(where)
        if address.structure not in self.day.structures:
            return False
        self.open(address.structure, address.path)
        return True

    def go_page(self, *_event: object) -> None:
        """Show the page as things are now."""
        self.page.show()
        self.shell.go("dive")

    def leave_page(self, *_event: object) -> None:
        """Back to the structures; the next start does not come back here."""
        self.day.store.settings.put(page=None)
        self.go_structures()

    def tell(self, error: CrosstreeError) -> None:
        """Say what went wrong, until it is put away."""
        banner = Banner(state="stop", text=trouble_text(error), pos_hint={"top": 1})
        banner.bind(on_dismiss=lambda *_: self.shell.lift(banner))
        self.shell.lay_over(banner)

    def _same_crew(self, desk: DiveDesk) -> bool:
        """Whether whoever saw, and typed, and the dive, are still the same."""
        now, then = self.day.recorder(), desk.recorder
        return (now.by, now.typed_by, now.survey, now.visit) == (then.by, then.typed_by, then.survey, then.visit)

    def _which(self, _screen: Any, fragments: tuple[str, ...]) -> None:
        title = LOOK.words.text("Two hang here. Which one is meant?")
        self.asking.choose(title, [Choice(name, name) for name in fragments], lambda name: self.page.act("pick_fragment", name))

    def _bind(self) -> None:
        self.structures.bind(
            on_leave_structures=lambda *_: self.ways.home(), on_structure=lambda _screen, structure: self.open(structure)
        )
        self.page.bind(
            on_leave_page=self.leave_page,
            on_which=self._which,
            on_trouble=lambda _screen, error: self.tell(error),
        )
