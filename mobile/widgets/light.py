"""A readiness light: shape and word, with colour only on top of them."""

import math
from typing import Any

from kivy.clock import Clock
from kivy.graphics import InstructionGroup
from kivy.properties import OptionProperty, StringProperty
from kivy.uix.boxlayout import BoxLayout
from kivy.uix.widget import Widget

from mobile.ink import Ink
from mobile.widgets.look import LOOK
from mobile.widgets.mesh import InkMesh, ink_context

__all__ = ["Lamp", "Light"]


class Lamp(Widget):
    """The shape alone: a disc with a tick, a triangle with a mark, an octagon with a bar."""

    state = OptionProperty("look", options=["good", "look", "stop"])

    def __init__(self, **kwargs: Any) -> None:
        super().__init__(**kwargs)
        self._draw_soon = Clock.create_trigger(self.draw, -1)
        context = ink_context()
        self.canvas.add(context)
        self._mesh = InkMesh(context)
        self.canvas.add(InstructionGroup())
        for name in ("pos", "size", "state"):
            self.fbind(name, self._later)
        LOOK.follow(self._later, "theme", "ruler")
        self._later()

    def _later(self, *_changed: object) -> None:
        self._draw_soon()

    def draw(self, *_when: object) -> None:
        """Draw it for its state."""
        theme, ink = LOOK.theme, Ink()
        x, y, radius = self.center_x, self.center_y, min(self.size) * 0.44
        thick = radius * 0.2
        if self.state == "good":
            ink.disc(x, y, radius, theme.good)
            tick = [(x - radius * 0.5, y), (x - radius * 0.12, y - radius * 0.4), (x + radius * 0.55, y + radius * 0.4)]
            ink.line(tick, thick, theme.on_good)
        elif self.state == "look":
            corners = _round(x, y - radius * 0.15, radius * 1.12, 3, 90)
            ink.fan((x, y), corners, theme.look)
            ink.line(corners, max(1.5, radius * 0.08), theme.outline, closed=True)
            ink.line([(x, y + radius * 0.45), (x, y - radius * 0.2)], thick, theme.on_look)
            ink.disc(x, y - radius * 0.46, thick * 0.55, theme.on_look)
        else:
            corners = _round(x, y, radius, 8, 22.5)
            ink.fan((x, y), corners, theme.stop)
            ink.line(corners, 1.5, theme.stop, closed=True)
            ink.line([(x - radius * 0.5, y), (x + radius * 0.5, y)], thick * 1.3, theme.on_stop)
        self._mesh.show(ink)


def _round(x: float, y: float, radius: float, corners: int, start: float) -> list[tuple[float, float]]:
    angles = [math.radians(start + 360 / corners * at) for at in range(corners)]
    return [(x + radius * math.cos(angle), y + radius * math.sin(angle)) for angle in angles]


class Light(BoxLayout):
    """A lamp, what it is about, and what it says: `state` good, look or stop; `about` and `says` are shown texts."""

    state = OptionProperty("look", options=["good", "look", "stop"])
    about = StringProperty("")
    says = StringProperty("")
