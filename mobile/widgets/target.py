"""What a finger can do: press inside, let go inside. Nothing here asks for a swipe, a pinch or a long press."""

from dataclasses import dataclass
from typing import Any

from kivy.properties import BooleanProperty, NumericProperty
from kivy.uix.widget import Widget

from mobile.ruler import TARGET_LEAST

__all__ = ["Target", "TargetSpot", "is_finger"]


@dataclass(frozen=True, slots=True)
class TargetSpot:
    """Something that can be tapped: its rectangle on the window in pixels, and the least it must measure in mm."""

    name: str
    x: float
    y: float
    width: float
    height: float
    least_mm: float


def is_finger(touch: Any) -> bool:
    """A finger, or the left button of a mouse; not its wheel nor its other buttons."""
    return "button" not in touch.profile or touch.button == "left"


class Target(Widget):
    """A target, to be mixed with what it shows: `on_act` when a finger lets go of it inside.

    `pressed` is true while the finger is down and inside; `off` makes it deaf; it must measure at least `least_mm`.
    """

    pressed = BooleanProperty(False)
    off = BooleanProperty(False)
    least_mm = NumericProperty(TARGET_LEAST)

    def __init__(self, **kwargs: Any) -> None:
        self.register_event_type("on_act")
        super().__init__(**kwargs)

    def on_act(self) -> None:
        """The default: nothing."""

    def on_touch_down(self, touch: Any) -> bool:
        """Take the finger where it comes down inside."""
        if self.off or not is_finger(touch) or not self.collide_point(*touch.pos):
            return False
        touch.grab(self)
        self.pressed = True
        return True

    def on_touch_move(self, touch: Any) -> bool:
        """Show whether letting go now would act."""
        if touch.grab_current is not self:
            return False
        self.pressed = self.collide_point(*touch.pos)
        return True

    def on_touch_up(self, touch: Any) -> bool:
        """Act where the finger lets go inside."""
        if touch.grab_current is not self:
            return False
        touch.ungrab(self)
        inside = self.collide_point(*touch.pos)
        self.pressed = False
        if inside and not self.off:
            self.dispatch("on_act")
        return True

    def targets(self) -> list[TargetSpot]:
        """What can be tapped here."""
        x, y = self.to_window(self.x, self.y)
        name = getattr(self, "name", "") or getattr(self, "text", "") or type(self).__name__
        return [] if self.off else [TargetSpot(name, x, y, self.width, self.height, self.least_mm)]
