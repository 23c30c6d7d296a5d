"""Details of what is selected: only where somebody wants to say more than a status."""

from collections.abc import Callable
from pathlib import Path
from typing import Any

from kivy.properties import ObjectProperty, StringProperty

from mobile.detail import DetailDesk, TopicView
from mobile.detail_topics import Option
from mobile.fact_words import value_text
from mobile.pictures import recent_pictures
from mobile.screens.asking import Asking
from mobile.screens.late import LateScreen
from mobile.screens.moments import clock_text
from mobile.screens.page import undo_text
from mobile.screens.voice_list import voice_choices
from mobile.widgets.buttons import BigButton
from mobile.widgets.keyboard import TextPad
from mobile.widgets.list_picker import Choice
from mobile.widgets.look import LOOK
from mobile.widgets.number_pad import NumberPad
from shared_schema.errors import CrosstreeError

__all__ = ["DetailsScreen"]


class DetailsScreen(LateScreen):
    """Shows what a DetailDesk says, and tells it what was tapped. `pictures` gives the folders where pictures are.

    Events: `on_leave_details`, and `on_trouble(error)` where the desk could not do what was asked.
    """

    detail = ObjectProperty(None, allownone=True)
    asking: Asking = ObjectProperty(None)
    pictures: Callable[[], tuple[Path, ...]] = ObjectProperty(tuple)
    names = ObjectProperty(dict)
    topic = StringProperty("")
    title = StringProperty("")
    caution = StringProperty("")
    undo_what = StringProperty("")

    def __init__(self, **kwargs: Any) -> None:
        for event in ("on_leave_details", "on_trouble"):
            self.register_event_type(event)
        super().__init__(**kwargs)
        LOOK.follow(self._again, "words")

    def on_leave_details(self) -> None:
        """The default: nothing."""

    def on_trouble(self, error: CrosstreeError) -> None:
        """The default: it is not hidden."""
        raise error

    def open(self, detail: DetailDesk) -> None:
        """Speak of these places, from the first topic on."""
        self.detail = detail
        self.topic = detail.topics[0].topic.key
        self._again()

    def undo(self) -> None:
        """Take the last thing back; where that was on another page, show that page."""
        desk = self.detail.desk
        before = desk.page_address
        self._do(desk.undo)
        if desk.page_address != before:
            self.dispatch("on_leave_details")

    def pick_topic(self, key: str) -> None:
        """Show what can be said of it."""
        _ = LOOK.words.text
        sort = self.detail.look(key).topic.sort
        if sort == "voices":
            choices = voice_choices(self.detail.voices, self.names())
            self.asking.choose(_("Who said what"), choices, lambda _key: None, empty=_("Nobody said anything here yet."))
        elif sort == "photo":
            self._ask_picture()
        else:
            self.topic = key
            self._again()

    def pick_option(self, option: Option) -> None:
        """Say it."""
        words, topic = LOOK.words, self.detail.look(self.topic).topic
        if topic.sort == "size":
            pad = NumberPad(title=words.text(option.word), unit="mm")
            self.asking.ask(self.title, pad, lambda digits: self._do(lambda: self.detail.measure(option.key, digits)))
        elif option.key == "new":
            self.asking.ask(words.text(option.word), TextPad(most=40), lambda text: self._do(lambda: self.detail.new_tag(text)))
        elif option.key == "write":
            self.asking.ask(words.text(topic.word), TextPad(most=400), lambda text: self._do(lambda: self.detail.note(text)))
        else:
            self._do(lambda: self.detail.choose(self.topic, option))

    def refresh(self) -> None:
        """Show how things are."""
        detail: DetailDesk = self.detail
        self.undo_what = undo_text(detail.desk.view.done)
        self.title = _title(detail)
        topics = detail.topics
        self._fill(self.ids.topics, "topic", [(view.topic.key, _topic_text(view), view.topic.key == self.topic) for view in topics])
        view = next(view for view in topics if view.topic.key == self.topic)
        self.caution = LOOK.words.text(view.topic.caution)
        self.ids.options.cols = view.topic.columns
        options = [*detail.options(self.topic)]
        if view.topic.sort == "note":
            options.append(Option("write", None, ""))
        self._options = {option.key: option for option in options}
        self._fill(self.ids.options, "option", [(key, self._option_text(view, key), key in view.chosen) for key in self._options])

    def _option_text(self, view: TopicView, key: str) -> str:
        words = LOOK.words
        if key == "write":
            _ = words.text
            return _("Write")
        said = dict(view.values).get(key) if view.topic.sort == "size" else None
        text = words.text(self._options[key].word)
        return text if said is None else f"{text}\n{value_text(words, key, said)}"

    def _fill(self, grid: Any, sort: str, wanted: list[tuple[str, str, bool]]) -> None:
        """Buttons by their names; those that are there already are kept."""
        buttons = {button.name: button for button in grid.children}
        if [f"{sort}:{key}" for key, _, _ in wanted] != [button.name for button in reversed(grid.children)]:
            grid.clear_widgets()
            buttons = {}
        for key, text, chosen in wanted:
            name = f"{sort}:{key}"
            if name not in buttons:
                buttons[name] = BigButton(name=name)
                buttons[name].bind(on_act=self._tapped)
                grid.add_widget(buttons[name])
            buttons[name].text, buttons[name].role = text, "chosen" if chosen else "plain"

    def _tapped(self, button: BigButton) -> None:
        sort, _, key = button.name.partition(":")
        if sort == "topic":
            self.pick_topic(key)
        else:
            self.pick_option(self._options[key])

    def _do(self, deed: Callable[[], None]) -> None:
        try:
            deed()
        except CrosstreeError as error:
            self.dispatch("on_trouble", error)
        self.refresh()

    def _again(self, *_changed: object) -> None:
        if self.detail is not None:
            self.make()
            self.ids.topics.clear_widgets()
            self.ids.options.clear_widgets()
            self.refresh()

    def _ask_picture(self) -> None:
        _ = LOOK.words.text
        found = {str(picture.path): picture for picture in recent_pictures(self.pictures())}
        choices = [Choice(path, one.path.name, f"{clock_text(one.when)}  {one.size / 1e6:.1f} MB") for path, one in found.items()]
        empty = _("No picture was found. Take one with the camera of this tablet, or plug in a card.")
        self.asking.choose(_("Photo"), choices, lambda path: self._do(lambda: self.detail.photo(Path(path))), empty=empty)


def _title(detail: DetailDesk) -> str:
    desk, hung = detail.desk, detail.hung
    where = " ".join((desk.open.name, desk.open.path(detail.places[0])))
    if len(detail.places) > 1:
        return LOOK.words.count("{n} place", "{n} places", len(detail.places)) + f"  {where} …"
    facts = [] if hung is None else [hung.standing.value("tag") or hung.fragment, hung.standing.value("genet")]
    return "  ·  ".join(str(part) for part in (where, *facts) if part)


def _topic_text(view: TopicView) -> str:
    words = LOOK.words
    said = [
        str(len(value)) if view.topic.sort in ("note", "photo") else value_text(words, fact, value) for fact, value in view.values
    ]
    return "\n".join((words.text(view.topic.word), ", ".join(said))) if said else words.text(view.topic.word)
