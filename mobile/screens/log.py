"""The details of the dive: when, where, who, how deep, how clear, how warm, and the slate."""

from collections.abc import Sequence
from datetime import timedelta
from pathlib import Path
from typing import Any, Final

from kivy.properties import BooleanProperty, NumericProperty, ObjectProperty, StringProperty
from kivy.uix.boxlayout import BoxLayout

from mobile.day import Day
from mobile.dive_log import DiveDraft, Figure, read_clock, read_figure
from mobile.pictures import recent_pictures
from mobile.screens.asking import Asking
from mobile.screens.live import LiveScreen
from mobile.screens.moments import clock_text
from mobile.screens.troubles import trouble_text
from mobile.widgets.keyboard import TextPad
from mobile.widgets.label import FitLabel
from mobile.widgets.list_picker import Choice, ListPicker
from mobile.widgets.look import LOOK
from mobile.widgets.number_pad import NumberPad
from shared_schema.errors import CrosstreeError, SchemaError

__all__ = ["LogScreen"]

_DAYS_BACK: Final = 7
_OTHER: Final = "+"


class LogScreen(LiveScreen):
    """Asks for one detail at a time, keeps each at once, and saves them as the dive's entry. Event: `on_leave_log`.

    `folders` are where photos are looked for.
    """

    day: Day = ObjectProperty(None)
    asking: Asking = ObjectProperty(None)
    folders: Sequence[Path] = ObjectProperty(())
    when = StringProperty("")
    went_in = StringProperty("")
    came_out = StringProperty("")
    place = StringProperty("")
    people = StringProperty("")
    depth_cm = StringProperty("")
    visibility_cm = StringProperty("")
    water_temp_dc = StringProperty("")
    slates = NumericProperty(0)
    saved = BooleanProperty(False)
    says = StringProperty("")
    trouble = StringProperty("")

    def __init__(self, **kwargs: Any) -> None:
        self.register_event_type("on_leave_log")
        super().__init__(**kwargs)

    def on_leave_log(self) -> None:
        """The default: nothing."""

    @property
    def draft(self) -> DiveDraft:
        """What is typed so far; a fresh one is of today, and of everybody aboard."""
        draft = DiveDraft.read(self.day.store.settings)
        if draft != DiveDraft():
            return draft
        return DiveDraft(day=self.day.clock().date().isoformat(), people=tuple(one.id for one in self.day.today.aboard))

    def refresh(self, *_changed: object) -> None:
        """Show it."""
        draft, names = self.draft, {person.id: person.name for person in (*self.day.people, *self.day.today.aboard)}
        self.when, self.place = draft.day, draft.place
        self.went_in, self.came_out = draft.went_in, draft.came_out
        self.people = ", ".join(names.get(one, one) for one in draft.people)
        self.depth_cm = _shown(draft.depth_cm, 100, "m")
        self.visibility_cm = _shown(draft.visibility_cm, 100, "m")
        self.water_temp_dc = _shown(draft.water_temp_dc, 10, "°C")
        self.saved = draft.saved
        self.slates = len(self._slates(draft.visit))
        unusual = draft.unusual(self.day.clock())
        self.says = LOOK.words.text("Look again: {what}").format(what=", ".join(map(self._name, unusual))) if unusual else ""

    def ask_day(self) -> None:
        """Which day."""
        _, today = LOOK.words.text, self.day.clock().date()
        days = [(today - timedelta(days=back)).isoformat() for back in range(_DAYS_BACK)]
        names = {0: _("today"), 1: _("yesterday")}
        choices = [Choice(day, day, names.get(back, "")) for back, day in enumerate(days)]
        self.asking.choose(self._name("day"), choices, lambda day: self._keep(day=day), chosen=self.draft.day)

    def ask_clock(self, field: str) -> None:
        """When they went in, or came out; what the clock says now stands there already."""
        known = getattr(self.draft, field) or f"{self.day.clock():%H:%M}"
        pad = NumberPad(title=self._name(field), most=4, digits=known.replace(":", ""))

        def take(digits: str) -> None:
            try:
                self._keep(**{field: read_clock(digits)})
            except SchemaError:
                self.trouble = LOOK.words.text("Write hours and minutes in four digits, as 0912.")

        self.asking.ask(self._name(field), pad, take)

    def ask_figure(self, figure: Figure) -> None:
        """How deep, how clear, how warm."""
        value = getattr(self.draft, figure)
        step, unit = (10, "°C") if figure == "water_temp_dc" else (100, "m")
        digits = "" if value is None else f"{value / step:g}"
        pad = NumberPad(title=self._name(figure), unit=unit, decimal=True, most=4, digits=digits)

        def take(typed: str) -> None:
            try:
                self._keep(**{figure: read_figure(figure, typed)})
            except SchemaError:
                self.trouble = LOOK.words.text("This is more than can be kept. Look at the number again.")

        self.asking.ask(self._name(figure), pad, take)

    def ask_place(self) -> None:
        """Where: a place of an earlier dive, or another."""
        _ = LOOK.words.text
        known = [Choice(place, place) for place in self._places()]
        if not known:
            self._type_place()
            return
        choices = [*known, Choice(_OTHER, _("Another place"))]
        self.asking.choose(self._name("place"), choices, self._take_place, chosen=self.draft.place)

    def ask_people(self) -> None:
        """Who of those aboard went down."""
        choices = [Choice(person.id, person.name) for person in self.day.today.aboard]
        picker = ListPicker(choices=choices, chosen=list(self.draft.people))

        def toggle(_picker: object, person: str) -> None:
            down = self.draft.people
            self._keep(people=tuple(one for one in down if one != person) if person in down else (*down, person))
            picker.chosen = list(self.draft.people)

        picker.bind(on_pick=toggle)
        self.asking.show(self._name("people"), picker, closes=LOOK.words.text("Done"))

    def ask_slate(self) -> None:
        """Which photo shows the slate."""
        _, now = LOOK.words.text, self.day.clock()
        pictures = {str(picture.path): picture for picture in recent_pictures(self.folders)}
        choices = [Choice(key, picture.path.name, clock_text(picture.when, now)) for key, picture in pictures.items()]
        empty = _("No photo was found here. Take one with the camera, copy it to Pictures, and look again.")
        self.asking.choose(_("Photo of the slate"), choices, self._keep_slate, empty=empty)

    def ask_note(self) -> None:
        """Words about the dive."""
        self.asking.ask(LOOK.words.text("Note on the dive"), TextPad(most=400, shift=True), self._keep_note)

    def save(self) -> bool:
        """Write the dive down; what is recorded from now on was seen on it. Gives whether it was taken."""
        draft = self.draft
        self.trouble = ""
        try:
            with self.day.store.database.writing():
                dive = draft.fields(self.day.clock().tzinfo)
                done = self.day.recorder().log_dive(visit=draft.visit or None, **dive).entries[0]
                draft.as_saved(done.subject.removeprefix("visit:")).keep(self.day.store.settings)
        except CrosstreeError as error:
            self.trouble = trouble_text(error)
            return False
        self.refresh()
        return True

    def begin_anew(self) -> None:
        """Another dive, of the same people at the same place; what was typed of this one is saved first."""
        draft = self.draft
        if not draft.saved and draft.went_in and not self.save():
            return
        self.day.new_dive()
        day = self.day.clock().date().isoformat()
        DiveDraft(day=day, place=draft.place, people=draft.people).keep(self.day.store.settings)
        self.refresh()

    def open(self, visit: str) -> None:
        """Go on with a dive that is in the record."""
        dive: Any = self.day.store.standing(f"visit:{visit}").value("dive")
        if isinstance(dive, dict):
            self.day.store.settings.put(visit=visit)
            DiveDraft.of(visit, dive, self.day.clock().tzinfo).keep(self.day.store.settings)
        self.refresh()

    def show_cautions(self) -> None:
        """What this record is not."""
        _ = LOOK.words.text
        cautions = (
            _("This is a record, not a dive plan: the safety manual, the lead diver and local rules decide."),
            _("Collecting, holding, moving and outplanting coral may each need a permit: ask the local authority."),
            _("Signs of disease are signs, not a diagnosis. Corals with open lesions are not moved without the authority."),
        )
        body = BoxLayout(orientation="vertical")
        for caution in cautions:
            body.add_widget(FitLabel(text=caution, halign="left"))
        self.asking.show(_("Cautions"), body)

    def _keep(self, **values: Any) -> None:
        self.trouble = ""
        self.draft.changed(**values).keep(self.day.store.settings)
        self.refresh()

    def _take_place(self, place: str) -> None:
        if place == _OTHER:
            self._type_place()
        else:
            self._keep(place=place)

    def _type_place(self) -> None:
        pad = TextPad(text=self.draft.place, most=60, shift=not self.draft.place)
        self.asking.ask(self._name("place"), pad, lambda place: self._keep(place=place))

    def _keep_slate(self, path: str) -> None:
        if not self.draft.visit and not self.save():
            return
        try:
            self.day.recorder().photo(f"visit:{self.draft.visit}", Path(path), slate=True)
        except CrosstreeError as error:
            self.trouble = trouble_text(error)
        self.refresh()

    def _keep_note(self, text: str) -> None:
        if not text or (not self.draft.visit and not self.save()):
            return
        try:
            self.day.recorder().note(f"visit:{self.draft.visit}", text)
        except CrosstreeError as error:
            self.trouble = trouble_text(error)
        self.refresh()

    def _places(self) -> list[str]:
        """The places of earlier dives and of the structures, the most used first."""
        store, used = self.day.store, dict[str, int]()
        dives: list[Any] = [standing.value("dive") for standing in store.standings("visit").values()]
        named = [dive.get("place") for dive in dives if isinstance(dive, dict)]
        named += [store.standing(f"structure:{one}").value("location") for one in self.day.structures]
        for place in named:
            if place:
                used[place] = used.get(place, 0) + 1
        return sorted(used, key=lambda place: (-used[place], place))

    def _slates(self, visit: str) -> list[Any]:
        if not visit:
            return []
        finding = self.day.store.finding(self.day.survey, f"visit:{visit}")
        return [photo for photo in (finding.value("photo") if finding else None) or () if photo.get("slate")]

    def _name(self, field: str) -> str:
        _ = LOOK.words.text
        return {
            "day": _("Day"),
            "went_in": _("Went in"),
            "came_out": _("Came out"),
            "place": _("Place"),
            "people": _("Divers"),
            "depth_cm": _("Depth"),
            "visibility_cm": _("Visibility"),
            "water_temp_dc": _("Water temperature"),
        }[field]


def _shown(value: int | None, step: int, unit: str) -> str:
    return "–" if value is None else f"{value / step:g} {unit}"
