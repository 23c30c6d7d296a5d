"""Where the day starts, and where every way leads back to."""

from typing import Any

from kivy.properties import BooleanProperty, ListProperty, NumericProperty, ObjectProperty, StringProperty

from mobile.day import Day
from mobile.outbox import Outbox
from mobile.screens.live import LiveScreen
from mobile.screens.moments import clock_text
from mobile.widgets.list_picker import Choice
from mobile.widgets.look import LOOK

__all__ = ["HomeScreen"]


class HomeScreen(LiveScreen):
    """Shows what `day` says.

    Event: `on_way(name)` for each way from here: structures, tasks, dive, sync, load, aboard, practise, settings; `saw` and
    `types` to name somebody who has no button.
    `waiting` is how many tasks there are, -1 where nobody looked. `next` is the name of the way that comes next, `advice`
    says it. `sending` is what a sync under way says of itself.
    """

    day: Day = ObjectProperty(None)
    title = StringProperty("")
    advice = StringProperty("")
    next = StringProperty("")
    maps = StringProperty("")
    dive = StringProperty("")
    news = StringProperty("")
    crew = StringProperty("")
    waiting = NumericProperty(-1)
    waits = StringProperty("")
    sending = StringProperty("")
    people = ListProperty()
    saw = StringProperty("")
    types = StringProperty("")
    loaded = BooleanProperty(False)

    def __init__(self, **kwargs: Any) -> None:
        self.register_event_type("on_way")
        super().__init__(**kwargs)
        self.fbind("sending", self.refresh)

    def on_way(self, name: str) -> None:
        """The default: nothing."""

    def refresh(self, *_changed: object) -> None:
        """Show how things are now."""
        _, count, today = LOOK.words.text, LOOK.words.count, self.day.today
        self.title = "  ·  ".join(part for part in (today.nursery, today.survey_name) if part)
        self.people = [Choice(person.id, person.name) for person in today.aboard]
        self.saw = today.saw.id if today.saw else ""
        self.types = today.types.id if today.types else ""
        self.loaded = bool(today.structures)
        self.maps = count("{n} structure", "{n} structures", len(today.structures)) if today.structures else _("nothing loaded")
        self.crew = count("{n} aboard", "{n} aboard", len(today.aboard))
        self.dive = _("under way") if today.visit else _("none yet")
        self.waits = count("{n} waits", "{n} wait", int(self.waiting)) if self.waiting >= 0 else ""
        self.news = self.sending or self._sent()
        self.next = "load" if not self.loaded else "aboard" if today.saw is None else "structures"
        self.advice = {
            "load": _("Next: load the maps, while there is a network."),
            "aboard": _("Next: say who is aboard."),
            "structures": _("Next: choose a structure, and enter what was seen."),
        }[self.next]

    def saw_by(self, person: str) -> None:
        """Another one saw what comes now."""
        self.day.saw(person)
        self.refresh()

    def typed_by(self, person: str) -> None:
        """Another one types."""
        self.day.types(person)
        self.refresh()

    def _sent(self) -> str:
        waiting = Outbox(self.day.store).waiting + len(self.day.store.photos.waiting())
        if waiting:
            return LOOK.words.count("{n} to send", "{n} to send", waiting)
        contact = self.day.store.settings.get("contact")
        return clock_text(contact) if isinstance(contact, str) else ""
