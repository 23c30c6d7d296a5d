"""Who is on the boat today."""

from typing import Any

from kivy.properties import ListProperty, ObjectProperty, StringProperty

from mobile.day import Day
from mobile.screens.asking import Asking
from mobile.screens.live import LiveScreen
from mobile.widgets.keyboard import TextPad
from mobile.widgets.list_picker import Choice
from mobile.widgets.look import LOOK
from shared_schema.errors import SchemaError

__all__ = ["AboardScreen"]


class AboardScreen(LiveScreen):
    """Ticks people in and out. Event: `on_leave_aboard`."""

    day: Day = ObjectProperty(None)
    asking: Asking = ObjectProperty(None)
    choices = ListProperty()
    chosen = ListProperty()
    trouble = StringProperty("")

    def __init__(self, **kwargs: Any) -> None:
        self.register_event_type("on_leave_aboard")
        super().__init__(**kwargs)

    def on_leave_aboard(self) -> None:
        """The default: nothing."""

    def refresh(self, *_changed: object) -> None:
        """Show who is listed, those first who are to go, and who is aboard."""
        _ = LOOK.words.text
        today = self.day.today
        marks = {"": ""}
        if today.saw is not None:
            marks[today.saw.id] = _("saw")
        if today.types is not None:
            marks[today.types.id] = ", ".join(part for part in (marks.get(today.types.id, ""), _("types")) if part)
        marks = dict.fromkeys(self.day.expected, _("on the plan")) | marks
        listed = {person.id: person for person in (*self.day.people, *today.aboard)}
        self.choices = [Choice(person.id, person.name, marks.get(person.id, "")) for person in listed.values()]
        self.chosen = [person.id for person in today.aboard]

    def toggle(self, person: str) -> None:
        """Somebody comes aboard, or goes ashore."""
        self.day.toggle(person)
        self.refresh()

    def ask_name(self) -> None:
        """Somebody whom the office did not list."""
        self.asking.ask(LOOK.words.text("Name"), TextPad(shift=True, most=40), self._add)

    def _add(self, name: str) -> None:
        self.trouble = ""
        try:
            self.day.add_person(name)
        except SchemaError:
            self.trouble = LOOK.words.text("This is no name. Write it with letters.")
        self.refresh()
