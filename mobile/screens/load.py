"""Before the dive: which survey and structures, loading them, and whether the boat can leave."""

from typing import TYPE_CHECKING, Any

from kivy.properties import BooleanProperty, ListProperty, NumericProperty, ObjectProperty, StringProperty

from mobile.battery import read_battery
from mobile.day import Day
from mobile.errands import Ended, Errand, Errands
from mobile.lights import ReadinessLight, light_up
from mobile.screens.asking import Asking
from mobile.screens.light_words import light_name, light_says
from mobile.screens.live import LiveScreen
from mobile.screens.troubles import trouble_text
from mobile.widgets.light import Light
from mobile.widgets.list_picker import Choice, ListPicker
from mobile.widgets.look import LOOK
from mobile.wish import Wish
from shared_schema.wire import Offers, PackManifest

if TYPE_CHECKING:
    from mobile.sync import Progress

__all__ = ["LoadScreen"]


class LoadScreen(LiveScreen):
    """Shows what is wished and how ready the tablet is. `errands` reach the server, `clerk` looks at the tablet.

    A broken fetch is tried `tries` times before it is told.

    Events: `on_leave_load`, and `on_loaded` when a pack was loaded whole.
    """

    day: Day = ObjectProperty(None)
    errands: Errands = ObjectProperty(None)
    clerk: Errands = ObjectProperty(None)
    asking: Asking = ObjectProperty(None)
    survey = StringProperty("")
    scope = StringProperty("")
    says = StringProperty("")
    trouble = StringProperty("")
    share = NumericProperty(0)
    busy = StringProperty("")
    can_load = BooleanProperty(False)
    lights = ListProperty()
    tries = NumericProperty(4)
    offers: Offers | None = ObjectProperty(None, allownone=True)

    def __init__(self, **kwargs: Any) -> None:
        for event in ("on_leave_load", "on_loaded"):
            self.register_event_type(event)
        super().__init__(**kwargs)
        self.fbind("busy", self.refresh)

    def on_leave_load(self) -> None:
        """The default: nothing."""

    def on_loaded(self) -> None:
        """The default: nothing."""

    @property
    def wish(self) -> Wish:
        """What is to be loaded; until somebody wishes for another, the survey in force."""
        wish, today = Wish.read(self.day.store.settings), self.day.today
        return wish if wish.survey or not today.survey else Wish(today.survey, today.survey_name)

    def refresh(self, *_changed: object) -> None:
        """Show the wish, and the lights as far as they are known."""
        _ = LOOK.words.text
        wish = self.wish
        self.survey = wish.name or wish.survey
        self.scope = self._scope(wish) if wish.survey else ""
        self.can_load = bool(wish.survey) and not self.busy and (wish.scope != "some" or bool(wish.some))
        self._show_lights()

    def look_over(self) -> None:
        """Look at the tablet, without holding up the screen."""
        survey = self.day.survey or self.wish.survey

        def work(errand: Errand) -> tuple[ReadinessLight, ...]:
            return light_up(errand.store, survey, read_battery())

        self.clerk.start(work, self._looked)

    def ask_survey(self) -> None:
        """Choose among the surveys that the server has."""
        self._with_offers(self._choose_survey)

    def ask_scope(self) -> None:
        """Choose the structures: those named, all, or some."""
        self._with_offers(self._choose_scope)

    def load(self) -> None:
        """Fetch what is wished, or go on with it."""
        wish, tries = self.wish, int(self.tries)

        def work(errand: Errand) -> PackManifest:
            sync = errand.sync(tries)
            structures = () if wish.scope == "named" else wish.structures(sync.offers())
            return sync.load_pack(wish.survey, structures)

        self._begin("load", LOOK.words.text("Asking the server …"))
        self.errands.start(work, self._loaded, self._heard)

    def stop(self) -> None:
        """End what is under way; what came so far is kept."""
        self.says = LOOK.words.text("Stopping …")
        self.errands.call_back()

    def _begin(self, busy: str, says: str) -> None:
        self.trouble, self.says, self.share, self.busy = "", says, 0, busy

    def _with_offers(self, then: Any) -> None:
        if self.offers is not None:
            then(self.offers)
            return

        def ended(end: Ended[Offers]) -> None:
            self.busy = self.says = ""
            if end.trouble is not None:
                self.trouble = trouble_text(end.trouble)
            elif end.result is not None:
                self.offers = end.result
                then(end.result)

        if self.errands.start(lambda errand: errand.sync(tries=2).offers(), ended):
            self._begin("ask", LOOK.words.text("Asking the server …"))

    def _choose_survey(self, offers: Offers) -> None:
        _ = LOOK.words.text
        choices = [Choice(one.id, one.name, _days(one.opens, one.closes)) for one in offers.surveys]
        empty = _("No survey is planned yet. Ask the supervisor to plan one.")
        self.asking.choose(_("Survey"), choices, self._take_survey, chosen=self.wish.survey, empty=empty)

    def _take_survey(self, survey: str) -> None:
        offered = next(one for one in self.offers.surveys if one.id == survey) if self.offers else None
        if offered is not None:
            self.wish.of_survey(offered).keep(self.day.store.settings)
        self.refresh()

    def _choose_scope(self, offers: Offers) -> None:
        _, count, wish = LOOK.words.text, LOOK.words.count, self.wish

        def size(scope: str) -> str:
            structures = wish.of(scope).structures(offers)
            return count("{n} structure", "{n} structures", len(structures))

        choices = [
            Choice("named", _("Those of the survey"), size("named")),
            Choice("all", _("All there are"), size("all")),
            Choice("some", _("Only some"), size("some")),
        ]
        self.asking.choose(_("Structures"), choices, self._take_scope, chosen=wish.scope)

    def _take_scope(self, scope: str) -> None:
        self.wish.of(scope).keep(self.day.store.settings)
        self.refresh()
        if scope == "some" and self.offers is not None:
            self._pick_some(self.offers)

    def _pick_some(self, offers: Offers) -> None:
        _ = LOOK.words.text
        choices = [Choice(one.id, one.id, one.name if one.name != one.id else "") for one in offers.structures]
        picker = ListPicker(choices=choices, chosen=list(self.wish.some), empty=_("The office has no structure yet."))

        def toggle(_picker: object, key: str) -> None:
            wish = self.wish.toggled(key)
            wish.keep(self.day.store.settings)
            picker.chosen = list(wish.some)
            self.refresh()

        picker.bind(on_pick=toggle)
        self.asking.show(_("Structures"), picker, closes=_("Done"))

    def _heard(self, progress: "Progress") -> None:
        _ = LOOK.words.text
        if progress.step == "pack" and progress.total:
            self.share = progress.done / progress.total
            whole = progress.done >= progress.total
            self.says = _("Reading it in …") if whole else f"{_size(progress.done)} / {_size(progress.total)}"
        elif progress.step == "waiting":
            self.says = _("No answer. Trying again …")

    def _loaded(self, end: Ended[PackManifest]) -> None:
        _ = LOOK.words.text
        self.busy = self.says = ""
        if end.trouble is not None:
            self.trouble = trouble_text(end.trouble)
        elif end.result is None:
            self.says = _("Stopped. Load again to go on from there.")
        else:
            self.share = 1
            self.says = LOOK.words.count("{n} entry loaded", "{n} entries loaded", end.result.entries)
            self.day.choose_survey(end.result.survey)
            self.dispatch("on_loaded")
        self.refresh()
        self.look_over()

    def _looked(self, end: Ended[tuple[ReadinessLight, ...]]) -> None:
        if end.trouble is not None:
            self.trouble = trouble_text(end.trouble)
        self.lights = list(end.result or ())
        self._show_lights()

    def _show_lights(self) -> None:
        self.make()
        self.ids.lights.clear_widgets()
        for light in self.lights:
            self.ids.lights.add_widget(Light(state=light.state, about=light_name(light), says=light_says(light)))

    def _scope(self, wish: Wish) -> str:
        _, count = LOOK.words.text, LOOK.words.count
        if wish.scope == "some":
            return count("{n} structure", "{n} structures", len(wish.some))
        return _("Those of the survey") if wish.scope == "named" else _("All there are")


def _days(opens: str, closes: str) -> str:
    return f"{opens} – {closes}" if opens and closes else opens or closes


def _size(bytes_: int) -> str:
    return f"{bytes_ / 1_000_000:.1f} MB"
