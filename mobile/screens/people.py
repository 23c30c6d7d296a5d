"""Who saw and who types, asked for over whatever is shown: of the crew ashore and from a page alike."""

from collections.abc import Callable

from kivy.uix.boxlayout import BoxLayout
from kivy.uix.widget import Widget

from mobile.catalogue import Person
from mobile.day import Day
from mobile.screens.asking import Asking
from mobile.widgets.crew_bar import CrewBar
from mobile.widgets.list_picker import Choice
from mobile.widgets.look import LOOK

__all__ = ["People"]


class People:
    """Asks on sheets of `asking`, and tells `day`."""

    def __init__(self, day: Day, asking: Asking) -> None:
        self._day, self._asking = day, asking

    def ask(self, then: Callable[[], None]) -> None:
        """Ask who saw and who types; `then` is called when the sheet is put away."""
        _, body = LOOK.words.text, BoxLayout(orientation="vertical", spacing=LOOK.ruler.px(6))
        for sort in ("saw", "types"):
            bar = CrewBar(title=self._title(sort), sort=sort, people=self._aboard())
            self._choose(bar)
            bar.bind(on_person=self._take, on_more=lambda one: self.ask_one(one.sort, lambda: self.ask(then)))
            body.add_widget(bar)
        body.add_widget(Widget())
        self._asking.show(_("Who saw, and who types"), body, closes=_("Done"), closed=then)

    def ask_one(self, sort: str, then: Callable[[], None]) -> None:
        """Ask for one of them, `saw` or `types`, among all aboard."""

        def take(person: str) -> None:
            self._tell(sort, person)
            then()

        chosen, empty = self._now(sort), LOOK.words.text("Nobody is aboard yet: say so on the first screen.")
        self._asking.choose(self._title(sort), self._aboard(), take, chosen=chosen.id if chosen else "", empty=empty)

    def _take(self, bar: CrewBar, person: str) -> None:
        self._tell(bar.sort, person)
        self._choose(bar)

    def _tell(self, sort: str, person: str) -> None:
        {"saw": self._day.saw, "types": self._day.types}[sort](person)

    def _choose(self, bar: CrewBar) -> None:
        now = self._now(bar.sort)
        bar.chosen = now.id if now else ""

    def _now(self, sort: str) -> Person | None:
        today = self._day.today
        return {"saw": today.saw, "types": today.types}[sort]

    def _aboard(self) -> list[Choice]:
        return [Choice(person.id, person.name) for person in self._day.today.aboard]

    def _title(self, sort: str) -> str:
        _ = LOOK.words.text
        return {"saw": _("Who saw"), "types": _("Who types")}[sort]
