"""Reads a page back in big letters, and aloud where there is a voice: a partner compares it with the slate."""

from typing import Any

from kivy.properties import BooleanProperty, NumericProperty, ObjectProperty, StringProperty
from kivy.uix.boxlayout import BoxLayout

from mobile.dive_desk import DiveDesk
from mobile.fact_words import value_text
from mobile.read_back import Card, Line, read_back
from mobile.screens.late import LateScreen
from mobile.speech import Speaker
from mobile.widgets.cell_art import head_word
from mobile.widgets.look import LOOK

__all__ = ["ReadBackScreen", "ReadLine"]


class ReadLine(BoxLayout):
    """One place: its `number` and what the record says of it, in big letters."""

    number = StringProperty("")
    words = StringProperty("")


class ReadBackScreen(LateScreen):
    """Shows a page card by card. `speaker` says them, while `aloud`. Event: `on_leave_read_back`."""

    speaker: Speaker = ObjectProperty(None)
    title = StringProperty("")
    where = StringProperty("")
    aloud = BooleanProperty(True)
    voice = BooleanProperty(False)
    at = NumericProperty(0)
    last = NumericProperty(0)

    def __init__(self, **kwargs: Any) -> None:
        self.register_event_type("on_leave_read_back")
        self._cards: tuple[Card, ...] = ()
        super().__init__(**kwargs)

    def on_leave_read_back(self) -> None:
        """The default: nothing."""

    def open(self, desk: DiveDesk) -> None:
        """Read the page that is open, from its first card on."""
        self._cards = read_back(desk)
        self._page = f"{desk.open.name} / {desk.page.path}"
        self.voice, self.at, self.last = self.speaker.can, 0, len(self._cards) - 1
        self.show()

    def turn(self, cards: int) -> None:
        """The next card or the one before; after the last one, back to the page."""
        if self.at + cards > self.last:
            self.leave()
        else:
            self.at = max(0, self.at + cards)
            self.show()

    def toggle_sound(self) -> None:
        """Read aloud, or be silent."""
        self.aloud = not self.aloud
        if self.aloud:
            self._say(self._cards[int(self.at)])
        else:
            self.speaker.hush()

    def leave(self) -> None:
        """Stop reading."""
        self.speaker.hush()
        self.dispatch("on_leave_read_back")

    def show(self) -> None:
        """Show the card, and say it."""
        self.make()
        card = self._cards[int(self.at)]
        self.title = f"{self._page}   {_card_name(card)}"
        self.where = f"{int(self.at) + 1} / {int(self.last) + 1}"
        lines = self.ids.lines
        lines.clear_widgets()
        for line in card.lines:
            lines.add_widget(ReadLine(number=str(line.number), words=_line_text(line)))
        if self.aloud:
            self._say(card)

    def _say(self, card: Card) -> None:
        lines = " ".join(f"{line.number}: {_line_text(line)}." for line in card.lines)
        self.speaker.say(f"{_card_name(card)}. {lines}", LOOK.words.language)


def _card_name(card: Card) -> str:
    return f"{head_word(card.kind)} {card.number}"


def _line_text(line: Line) -> str:
    words = LOOK.words
    _ = words.text
    if line.unseen:
        return _("not looked at")
    if line.empty:
        return _("nothing hangs here")
    said = [_("nothing entered") if line.status is None else value_text(words, "status", line.status)]
    return ", ".join([*said, *(value_text(words, fact, value) for fact, value in line.facts)])
