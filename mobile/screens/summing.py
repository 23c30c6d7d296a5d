"""What was entered, summed up on its screen: for the structure that is open, or for all of the survey."""

from collections.abc import Callable

from mobile.day import Day
from mobile.dive_desk import DiveDesk
from mobile.dive_summary import spoken_structures, sum_up
from mobile.screens.asking import Asking
from mobile.screens.page import undo_text
from mobile.screens.shell import Shell
from mobile.screens.summary import SummaryScreen
from mobile.screens.voice_list import voice_choices
from mobile.voices import voices_at
from mobile.widgets.look import LOOK
from shared_schema.ids import parse_address

__all__ = ["Summing"]


class Summing:
    """Shows sums on `screen`. `desk` gives the desk that is open, `names` people's names by their ids."""

    def __init__(
        self, shell: Shell, day: Day, asking: Asking, desk: Callable[[], DiveDesk | None], names: Callable[[], dict[str, str]]
    ) -> None:
        self._shell, self._day, self._asking, self._desk, self._names = shell, day, asking, desk, names
        self._structures: tuple[str, ...] = ()
        self.screen = SummaryScreen(name="summary")
        shell.screens.add_widget(self.screen)

    def show(self, structure: str = "") -> None:
        """What one structure came to, or all of which this survey has anything."""
        day = self._day
        self._structures = (structure,) if structure else spoken_structures(day.store, day.survey, day.structures)
        self.again()
        self._shell.go("summary")

    def again(self) -> None:
        """The same as things are now."""
        _, desk = LOOK.words.text, self._desk()
        title = "  ".join((_("Summary"), *self._structures)) if len(self._structures) == 1 else _("Summary")
        undo = "" if desk is None else undo_text(desk.view.done)
        self.screen.refresh(sum_up(self._day.store, self._day.survey, self._structures), title, undo, self._names())

    def ask(self, place: str) -> None:
        """Who said what of a place in dispute."""
        _, store = LOOK.words.text, self._day.store
        voices = voices_at(store, store.on_structure(parse_address(place).structure), place, self._day.survey)
        self._asking.choose(f"{_('Who said what')}  {place}", voice_choices(voices, self._names()), lambda _key: None)
