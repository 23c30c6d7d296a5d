"""The frame of the tablet's screens: one screen at a time, what lies over it, and one finger at a time."""

import time
from typing import Any

from kivy.base import EventLoop
from kivy.uix.floatlayout import FloatLayout
from kivy.uix.screenmanager import NoTransition, ScreenManager

from mobile.gate import TouchGate
from mobile.ruler import POSITION
from mobile.screens.late import LateScreen
from mobile.widgets.look import LOOK

__all__ = ["Shell"]


class Shell(FloatLayout):
    """Holds the screens in `screens`, and what lies over them in `layers`.

    `clock` gives seconds that only grow; `touched` is what it said when a finger last came down.
    Every touch passes its gate: while a finger is down no other counts, and the second tap of two at one spot is dropped,
    whatever the first one brought there. Nothing under a layer can be touched.
    """

    def __init__(self, clock: Any = time.monotonic, **kwargs: Any) -> None:
        super().__init__(**kwargs)
        LOOK.follow(self._lay_ground, "theme")
        self._lay_ground()
        self.screens = ScreenManager(transition=NoTransition())
        # Its stencil hides what slides in and out; nothing slides here, and it costs as much as painting the screen twice.
        self.screens.canvas.before.clear()
        self.screens.canvas.after.clear()
        self.add_widget(self.screens)
        self.layers: list[Any] = []
        self.clock, self.touched = clock, clock()
        self._gate = TouchGate(clock, same_spot=LOOK.ruler.px(POSITION / 2))
        LOOK.follow(self._measure, "ruler")

    @property
    def held(self) -> bool:
        """Whether a finger is down."""
        return self._gate.held

    def _measure(self, *_changed: object) -> None:
        self._gate.same_spot = LOOK.ruler.px(POSITION / 2)

    def _lay_ground(self, *_changed: object) -> None:
        """The window is wiped before each frame anyway: wiping it in the colour of the ground costs nothing more."""
        EventLoop.window.clearcolor = LOOK.theme.ground

    def go(self, name: str) -> None:
        """Show another screen; what lay over the last one is gone."""
        for layer in list(self.layers):
            self.lift(layer)
        screen = self.screens.get_screen(name)
        if isinstance(screen, LateScreen):
            screen.make()
        self.screens.current = name

    def lay_over(self, layer: Any) -> None:
        """Lay a sheet, a notice or the lock over the screen."""
        self.layers.append(layer)
        self.add_widget(layer)

    def lift(self, layer: Any) -> None:
        """Take a layer away; one that is gone already is no mistake."""
        if layer in self.layers:
            self.layers.remove(layer)
            self.remove_widget(layer)

    def on_touch_down(self, touch: Any) -> bool:
        """Let one finger through, to the topmost layer alone."""
        self.touched = self.clock()
        if getattr(touch, "is_mouse_scrolling", False) or not self._gate.enter(touch.uid, *touch.pos):
            return True
        if self.layers:
            self.layers[-1].dispatch("on_touch_down", touch)
            return True
        return bool(super().on_touch_down(touch))

    def on_touch_move(self, touch: Any) -> bool:
        """Only the finger that was let through."""
        return True if not self._gate.holds(touch.uid) else bool(super().on_touch_move(touch))

    def on_touch_up(self, touch: Any) -> bool:
        """The next finger may come."""
        held = self._gate.holds(touch.uid)
        self._gate.leave(touch.uid, *touch.pos)
        return True if not held else bool(super().on_touch_up(touch))
