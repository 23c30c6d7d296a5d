"""Buttons with words."""

from typing import Any

from kivy.properties import ColorProperty, NumericProperty, OptionProperty, StringProperty

from mobile.ruler import DESTRUCTIVE, TARGET_LEAST
from mobile.widgets.label import FitLabel
from mobile.widgets.look import LOOK
from mobile.widgets.target import Target

__all__ = ["BigButton", "UndoButton"]


class BigButton(Target, FitLabel):
    """A word on a large target.

    `role`: "plain"; "main", the one thing to do next; "danger", rare and destructive; "chosen", the one of several that
    holds now. `name` tells it apart for tests, whatever the language. `fill`, `rim` and `edge` are how it is drawn now.
    """

    role = OptionProperty("plain", options=["plain", "main", "danger", "chosen"])
    name = StringProperty("")
    fill = ColorProperty()
    rim = ColorProperty()
    edge = NumericProperty(2)

    def __init__(self, **kwargs: Any) -> None:
        super().__init__(**kwargs)
        for name in ("role", "pressed", "off"):
            self.fbind(name, self.paint)
        LOOK.follow(self.paint, "theme", "ruler")
        self.paint()

    def on_role(self, *_changed: object) -> None:
        """What destroys must be larger."""
        self.least_mm = DESTRUCTIVE if self.role == "danger" else TARGET_LEAST

    def paint(self, *_changed: object) -> None:
        """Choose colours by role and state."""
        theme = LOOK.theme
        fill, ink, rim = {
            "plain": (theme.surface, theme.text, theme.line),
            "main": (theme.main, theme.on_main, theme.main),
            "danger": (theme.danger, theme.on_danger, theme.danger),
            "chosen": (theme.pressed, theme.text, theme.text),
        }[self.role]
        if self.off:
            fill, ink, rim = theme.ground, theme.muted, theme.surface
        elif self.pressed:
            fill, ink, rim = theme.pressed, theme.text, theme.text
        self.fill, self.color, self.rim = fill, ink, rim
        self.edge = LOOK.ruler.px(0.8 if self.role == "chosen" else 0.4)
        self.bold = self.role != "plain"


class UndoButton(BigButton):
    """Takes the last thing back. It names that thing in `what`, and is deaf when there is none."""

    what = StringProperty("")
