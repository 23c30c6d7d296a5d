"""Buttons and marks that are drawn instead of written: arrows that turn pages, and the tick of what is chosen."""

from typing import Any

from kivy.clock import Clock
from kivy.properties import BooleanProperty
from kivy.uix.widget import Widget

from mobile.ink import Ink
from mobile.widgets.buttons import BigButton
from mobile.widgets.look import LOOK
from mobile.widgets.mesh import InkMesh, ink_context

__all__ = ["ArrowButton", "Tick"]


class ArrowButton(BigButton):
    """Turns to what comes before (`up`) or after."""

    up = BooleanProperty(False)

    def __init__(self, **kwargs: Any) -> None:
        super().__init__(**kwargs)
        self._draw_soon = Clock.create_trigger(self.draw, -1)
        context = ink_context()
        self.canvas.after.add(context)
        self._mesh = InkMesh(context)
        for name in ("pos", "size", "up", "color"):
            self.fbind(name, self._later)
        self._later()

    def _later(self, *_changed: object) -> None:
        self._draw_soon()

    def draw(self, *_when: object) -> None:
        """A broad arrowhead in the middle."""
        ink = Ink()
        radius, sign = min(self.size) * 0.22, 1 if self.up else -1
        x, y = self.center
        points = [(x - radius, y - sign * radius / 2), (x, y + sign * radius / 2), (x + radius, y - sign * radius / 2)]
        ink.line(points, radius * 0.4, LOOK.theme.line if self.off else tuple(self.color))
        self._mesh.show(ink)


class Tick(Widget):
    """The mark of what is chosen, drawn while `on`."""

    on = BooleanProperty(True)

    def __init__(self, **kwargs: Any) -> None:
        super().__init__(**kwargs)
        self._draw_soon = Clock.create_trigger(self.draw, -1)
        context = ink_context()
        self.canvas.add(context)
        self._mesh = InkMesh(context)
        for name in ("pos", "size", "on"):
            self.fbind(name, self._later)
        LOOK.follow(self._later, "theme")
        self._later()

    def _later(self, *_changed: object) -> None:
        self._draw_soon()

    def draw(self, *_when: object) -> None:
        """A tick, or nothing: what an ink shows does not heed a widget's opacity."""
        ink, radius = Ink(), min(self.size) * 0.4
        x, y = self.center
        if self.on:
            ink.line(
                [(x - radius, y), (x - radius * 0.3, y - radius * 0.7), (x + radius, y + radius * 0.8)],
                radius * 0.4,
                LOOK.theme.text,
            )
        self._mesh.show(ink)
