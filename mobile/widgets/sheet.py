"""What lies over a screen for a moment: details, a notice, the lock for wiping."""

from collections.abc import Callable
from typing import Any, Final

from kivy.clock import Clock
from kivy.properties import NumericProperty, OptionProperty, StringProperty
from kivy.uix.boxlayout import BoxLayout

__all__ = ["LOCK_S", "Banner", "ScreenLock", "Sheet"]

LOCK_S: Final = 10
"""How long the lock lasts: enough to wipe a wet screen."""


class Sheet(BoxLayout):
    """A panel over the screen, with a title and a button that closes it; what is added to it goes into its body.

    `closes` is what the button says and `close_role` its role: "plain" where the body has a main button of its own.
    `on_close` when it was tapped. The shell lays it over the screen (`Shell.lay_over`), which is deaf meanwhile.
    """

    title = StringProperty("")
    closes = StringProperty("")
    close_role = OptionProperty("main", options=["main", "plain"])

    def __init__(self, **kwargs: Any) -> None:
        self.register_event_type("on_close")
        super().__init__(**kwargs)

    def on_close(self) -> None:
        """The default: nothing."""

    def add_widget(self, widget: Any, *args: Any, **kwargs: Any) -> None:
        """Into the body, once the rule has made one."""
        body = self.ids.get("body")
        if body is None:
            super().add_widget(widget, *args, **kwargs)
        else:
            body.add_widget(widget, *args, **kwargs)


class Banner(BoxLayout):
    """A notice that stays until it is put away: `state` as of a light, `text`, and `on_dismiss`."""

    state = OptionProperty("look", options=["good", "look", "stop"])
    text = StringProperty("")

    def __init__(self, **kwargs: Any) -> None:
        self.register_event_type("on_dismiss")
        super().__init__(**kwargs)

    def on_dismiss(self) -> None:
        """The default: nothing."""


class ScreenLock(BoxLayout):
    """Deafens the screen for LOCK_S seconds, so that it can be wiped, and counts them down in `left`; then `on_open`."""

    left = NumericProperty(LOCK_S)

    def __init__(self, every_second: Callable[[Callable[[Any], object]], Any] | None = None, **kwargs: Any) -> None:
        """`every_second` calls what it is given once a second, and gives back something that can be cancelled."""
        self.register_event_type("on_open")
        super().__init__(**kwargs)
        self._ticking = (every_second or _every_second)(self.tick)

    def on_open(self) -> None:
        """The default: nothing."""

    def tick(self, *_when: object) -> None:
        """A second went by."""
        self.left -= 1
        if self.left <= 0:
            self._ticking.cancel()
            self.dispatch("on_open")

    def on_touch_down(self, touch: Any) -> bool:  # noqa: ARG002  # Kivy's signature
        """A hand that wipes is no finger."""
        return True


def _every_second(call: Callable[[Any], object]) -> Any:
    return Clock.schedule_interval(call, 1)
