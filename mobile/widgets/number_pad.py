"""Keys for a number: larger than a keyboard's, and with nothing else on them."""

from typing import Any

from kivy.properties import BooleanProperty, NumericProperty, StringProperty
from kivy.uix.boxlayout import BoxLayout

from mobile.ruler import STATUS
from mobile.widgets.buttons import BigButton

__all__ = ["NumberPad", "PadKey"]


class PadKey(BigButton):
    """One key."""

    least_mm = NumericProperty(STATUS)

    def on_role(self, *_changed: object) -> None:
        """A key keeps its least size whatever its role."""


class NumberPad(BoxLayout):
    """Collects digits in `digits`: at most `most`, with a decimal point where `decimal` allows one.

    `title` says what is asked and `unit` what it is measured in. `on_done(digits)` when the number was confirmed; an
    empty one may be confirmed, and means that nothing was measured.
    """

    digits = StringProperty("")
    title = StringProperty("")
    unit = StringProperty("")
    most = NumericProperty(5)
    decimal = BooleanProperty(False)

    def __init__(self, **kwargs: Any) -> None:
        self.register_event_type("on_done")
        super().__init__(**kwargs)

    def on_done(self, digits: str) -> None:
        """The default: nothing."""

    def press(self, key: str) -> None:
        """A digit, `.` or `back`."""
        if key == "back":
            self.digits = self.digits[:-1]
        elif key == ".":
            if self.decimal and "." not in self.digits:
                self.digits = (self.digits or "0") + "."
        elif len(self.digits.replace(".", "")) < self.most:
            self.digits = key if self.digits == "0" else self.digits + key

    def confirm(self) -> None:
        """Hand the number on."""
        self.dispatch("on_done", self.digits.rstrip("."))
