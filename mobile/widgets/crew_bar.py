"""The people aboard in a row, so that naming another one takes a single tap."""

import math
from typing import Any, Final

from kivy.clock import Clock
from kivy.properties import ListProperty, StringProperty
from kivy.uix.boxlayout import BoxLayout

from mobile.ruler import GAP
from mobile.widgets.buttons import BigButton
from mobile.widgets.list_picker import Choice
from mobile.widgets.look import LOOK

__all__ = ["CrewBar"]

_NARROWEST: Final = 32.0  # mm for a name
_TITLE: Final = 34.0


class CrewBar(BoxLayout):
    """Shows `title` and a button for each of `people` (Choice); `chosen` is the key of the one who holds now.

    Where not all fit, the last button asks for the others: `on_more`. Whoever is chosen is always shown. `on_person(key)`
    when one was tapped. `sort` is what its targets' names begin with.
    """

    title = StringProperty("")
    sort = StringProperty("person")
    people = ListProperty()
    chosen = StringProperty("")

    def __init__(self, **kwargs: Any) -> None:
        for event in ("on_person", "on_more"):
            self.register_event_type(event)
        self._fill_soon = Clock.create_trigger(self.fill, -1)
        super().__init__(**kwargs)
        for name in ("people", "chosen", "width", "sort"):
            self.fbind(name, self._later)
        LOOK.follow(self._later, "ruler", "words")
        self._later()

    def on_person(self, key: str) -> None:
        """The default: nothing."""

    def on_more(self) -> None:
        """The default: nothing."""

    def _later(self, *_changed: object) -> None:
        self._fill_soon()

    @property
    def shown(self) -> list[Choice]:
        """The people who fit, the chosen one among them."""
        room = max(1, math.floor((LOOK.ruler.mm(self.width) - _TITLE) / (_NARROWEST + GAP)))
        people = list(self.people)
        if len(people) <= room:
            return people
        first, rest = people[: room - 1], people[room - 1 :]
        chosen = next((one for one in rest if one.key == self.chosen), None)
        return first if chosen is None or not first else [*first[:-1], chosen]

    def fill(self, *_when: object) -> None:
        """A button for each."""
        row = self.ids.get("row")
        if row is None:
            return
        row.clear_widgets()
        shown = self.shown
        for person in shown:
            role = "chosen" if person.key == self.chosen else "plain"
            button = BigButton(text=person.text, name=f"{self.sort}:{person.key}", role=role)
            button.bind(on_act=lambda _button, key=person.key: self.dispatch("on_person", key))
            row.add_widget(button)
        if len(shown) < len(self.people) or not self.people:
            _ = LOOK.words.text
            more = BigButton(text=_("Others") if self.people else _("Say who is aboard"), name=f"{self.sort}:more")
            more.bind(on_act=lambda *_: self.dispatch("on_more"))
            row.add_widget(more)
