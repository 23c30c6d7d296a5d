"""Practice: slates with known answers, entered on the page that a dive uses, and scored place by place."""

from collections.abc import Callable
from typing import Any, Final

from kivy.clock import Clock
from kivy.properties import BooleanProperty, ListProperty, ObjectProperty, StringProperty
from kivy.uix.boxlayout import BoxLayout
from kivy.uix.screenmanager import Screen

from mobile.desk import UNSEEN
from mobile.palette import CONDITIONS
from mobile.screens.page import PageScreen
from mobile.screens.rules import load_rules_of
from mobile.screens.shell import Shell
from mobile.training import SLATES, Miss, Score, Slate, score_slate
from mobile.widgets.list_picker import Choice, ListPicker, PickRow
from mobile.widgets.look import LOOK
from mobile.widgets.sheet import Sheet
from mobile.widgets.slate import SlatePicture

__all__ = ["MissList", "PracticeScreen", "ScoreSheet", "SlateOffer", "Training", "TrainingScreen"]

_SLATE_MM: Final = 50.0
"""How wide the slate is beside the page: as wide as leaves the places their size."""


class SlateOffer(BoxLayout):
    """A slate to choose: its picture, and a button that says what it is and how it went last. Event: `on_offer`."""

    slate = ObjectProperty(None)
    name = StringProperty("")
    text = StringProperty("")
    fresh = BooleanProperty(False)

    def __init__(self, **kwargs: Any) -> None:
        self.register_event_type("on_offer")
        super().__init__(**kwargs)

    def on_offer(self) -> None:
        """The default: nothing."""


class TrainingScreen(Screen):
    """Offers the practice slates. Events: `on_slate(slate)`, `on_leave_training`."""

    def __init__(self, **kwargs: Any) -> None:
        for event in ("on_slate", "on_leave_training"):
            self.register_event_type(event)
        super().__init__(**kwargs)
        self.offers = [SlateOffer(slate=slate, name=f"slate:{slate.key}") for slate in SLATES]
        for offer in self.offers:
            offer.bind(on_offer=self._choose)
            self.ids.offers.add_widget(offer)

    def on_slate(self, slate: Slate) -> None:
        """The default: nothing."""

    def on_leave_training(self) -> None:
        """The default: nothing."""

    def refresh(self, scores: dict[str, Score]) -> None:
        """Show how each went, in this sitting; the first that was not tried comes next."""
        _ = LOOK.words.text
        names = {"tree": _("A level of a tree"), "line": _("A stretch of a line"), "table": _("A row of a table")}
        fresh = next((slate.key for slate in SLATES if slate.key not in scores), "")
        for offer in self.offers:
            score = scores.get(offer.slate.key)
            offer.text = names[offer.slate.key] + ("" if score is None else f"\n{score_text(score)}")
            offer.fresh = offer.slate.key == fresh

    def _choose(self, offer: SlateOffer) -> None:
        self.dispatch("on_slate", offer.slate)


class PracticeScreen(Screen):
    """The page of a dive in a frame that says that it is practice, with the slate where the map is otherwise.

    Events: `on_entered` when the slate was signed off, `on_leave_practice`.
    """

    def __init__(self, **kwargs: Any) -> None:
        for event in ("on_entered", "on_leave_practice"):
            self.register_event_type(event)
        super().__init__(**kwargs)
        self.page = PageScreen()
        self.ids.room.add_widget(self.page)
        self.page.bind(on_leave_page=lambda *_: self.dispatch("on_leave_practice"))
        self.page.bind(on_finished=lambda *_: self.dispatch("on_entered"))
        self.slate = SlatePicture()
        self._fit_soon = Clock.create_trigger(self._fit, -1)
        LOOK.follow(self._later, "ruler")
        self._take_slate_up()

    def on_entered(self) -> None:
        """The default: nothing."""

    def on_leave_practice(self) -> None:
        """The default: nothing."""

    def begin(self, slate: Slate) -> None:
        """Show a slate beside an empty page."""
        self.slate.slate = slate
        self.page.desk = slate.desk()

    def _take_slate_up(self) -> None:
        """A slate has one page, so that its map would tell nothing; and there is nothing else to enter of it."""
        self._map = self.page.overview.__self__  # held: the page goes on telling it how things are
        self._column = self._map.parent
        at = self._column.children.index(self._map)
        self._column.remove_widget(self._map)
        self._column.add_widget(self.slate, index=at)
        for widget in list(self.page.walk()):
            if getattr(widget, "name", "") in ("details", "more"):
                widget.opacity, widget.disabled, widget.width = 0, True, 0
        self._later()

    def _later(self, *_changed: object) -> None:
        self._fit_soon()

    def _fit(self, *_when: object) -> None:
        self._column.width = LOOK.ruler.px(_SLATE_MM)


class MissList(ListPicker):
    """The places that were entered otherwise, and why; tapping one shows it on the slate."""

    def row_of(self, choice: Choice) -> PickRow:
        """Both in one text, which has the whole row."""
        role = "chosen" if choice.key in self.chosen else "plain"
        return PickRow(key=choice.key, text=f"{choice.text}\n{choice.detail}", name=f"pick:{choice.key}", role=role, most=24)


class ScoreSheet(BoxLayout):
    """How a slate was entered. Event: `on_again`."""

    slate = ObjectProperty(None)
    wrong = ListProperty()
    choices = ListProperty()
    chosen = StringProperty("")

    def __init__(self, slate: Slate, score: Score, **kwargs: Any) -> None:
        self.register_event_type("on_again")
        super().__init__(**kwargs)
        self.slate, self.wrong = slate, [miss.path for miss in score.misses]
        self.choices = [_row(slate, miss) for miss in score.misses]

    def on_again(self) -> None:
        """The default: nothing."""


class Training:
    """Adds its screens to a shell when they are first asked for, and goes from one to the other."""

    def __init__(self, shell: Shell) -> None:
        self.shell = shell
        self.scores: dict[str, Score] = {}
        load_rules_of("training")
        self.screen = TrainingScreen(name="training")
        self.practice = PracticeScreen(name="practice")
        self._leave: Callable[[], None] = lambda: None
        self._began = 0.0
        for screen in (self.screen, self.practice):
            shell.screens.add_widget(screen)
        LOOK.follow(self._refresh, "words")
        self.screen.bind(on_slate=lambda _screen, slate: self.begin(slate), on_leave_training=lambda *_: self._leave())
        self.practice.bind(on_leave_practice=self._offer, on_entered=self._tell)

    def open(self, leave: Callable[[], None]) -> None:
        """Offer the slates; `leave` shows what was there before."""
        self._leave = leave
        self._offer()

    def begin(self, slate: Slate) -> None:
        """Hand a slate up."""
        self.practice.begin(slate)
        self._began = self.shell.clock()
        self.shell.go("practice")

    def _offer(self, *_event: object) -> None:
        self._refresh()
        self.shell.go("training")

    def _refresh(self, *_event: object) -> None:
        self.screen.refresh(self.scores)

    def _tell(self, *_event: object) -> None:
        slate: Slate = self.practice.slate.slate
        score = score_slate(slate, self.practice.page.desk.statuses, self.shell.clock() - self._began)
        self.scores[slate.key] = score
        body = ScoreSheet(slate, score)
        body.bind(on_again=lambda *_: self.begin(slate))
        sheet = Sheet(title=score_text(score))
        sheet.add_widget(body)
        sheet.bind(on_close=self._offer)
        self.shell.lay_over(sheet)


def score_text(score: Score) -> str:
    """`17 of 20 right, 1:05`."""
    minutes, seconds = divmod(round(score.seconds), 60)
    return LOOK.words.text("{n} of {all} right, {time}").format(n=score.right, all=score.places, time=f"{minutes}:{seconds:02}")


def _letter(status: str) -> str:
    return "?" if status == UNSEEN else LOOK.letter(CONDITIONS[status])


def _row(slate: Slate, miss: Miss) -> Choice:
    """A place that was entered otherwise, and why."""
    _ = LOOK.words.text
    right, crossed = _letter(miss.wanted), slate.at(miss.path).crossed
    why = {
        "blank": _("Nothing is written: nobody looked."),
        "crossed": _("{old} is crossed out: {letter} counts."),
        "ditto": _("Two strokes: the same again, {letter}."),
        "line": _("The line goes on here: {letter}."),
        "smudged": _("Smudged: the margin says {letter}."),
        "ticked": _("A tick: looked at, and fine."),
        "looked": _("Something is written: somebody looked."),
        "written": _("{letter} is written."),
    }[miss.why].format(letter=right, old=_letter(crossed) if crossed else "")
    text = _("{place}: {given} entered, not {letter}").format(place=slate.place(miss.path), given=_letter(miss.given), letter=right)
    return Choice(miss.path, text, why)
