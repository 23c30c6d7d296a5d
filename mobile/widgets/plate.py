"""What is painted once and then copied into each frame: a frame costs the copy, however much there is to draw.

Software that draws a screen without graphics hardware takes a hundred times as long for a page full of small shapes and
texts as for copying it as it was. So a tap repaints what it changed, and the rest is copied.
"""

import math
from collections.abc import Callable
from typing import Any, Final
from weakref import WeakSet, ref

from kivy.base import EventLoop
from kivy.clock import Clock
from kivy.graphics import Callback, ClearBuffers, ClearColor, Color, InstructionGroup, Rectangle, Translate
from kivy.graphics.fbo import Fbo
from kivy.graphics.opengl import GL_BLEND, glDisable, glEnable
from kivy.uix.boxlayout import BoxLayout

from mobile.widgets.look import LOOK

__all__ = ["Keeping", "KeptBox", "Plate"]


class Plate:
    """A picture of part of the window: `shown` goes into a canvas, what is to be seen into `content`.

    `content` is in the coordinates of that canvas. It is drawn again when anything in it changed, on bare ground; where the
    plate does not `wipe`, over what was drawn before. `lost` is called when the system took the picture away.
    """

    def __init__(self, owner: Any, *, wipe: bool = True, lost: Callable[[], object] | None = None) -> None:
        self._owner = ref(owner)
        self.shown, self.content = InstructionGroup(), InstructionGroup()
        self._wipe, self._lost = wipe, lost
        self._fbo: Any = None
        self._ground, self._shift, self._copy = ClearColor(*LOOK.theme.ground), Translate(0, 0), Rectangle()

    def place(self, x: float, y: float, width: float, height: float, *, margin: float = 0) -> None:
        """Draw this rectangle and `margin` round it, to whole pixels, and show all of it: it is copied without a change."""
        left, low = math.floor(x - margin), math.floor(y - margin)
        size = (math.ceil(x + width + margin) - left, math.ceil(y + height + margin) - low)
        if self._fbo is None:
            self._begin(size)
        elif tuple(self._fbo.size) != size:
            self._fbo.size = size
        self._shift.xy = -left, -low
        texture = self._fbo.texture
        texture.mag_filter = texture.min_filter = "nearest"
        self.lay_ground()
        self.show(x - margin, y - margin, width + 2 * margin, height + 2 * margin)

    def show(self, x: float, y: float, width: float, height: float) -> None:
        """Of what it draws, show this rectangle."""
        left, low = math.floor(x), math.floor(y)
        size = (math.ceil(x + width) - left, math.ceil(y + height) - low)
        self._copy.texture = self._fbo.texture.get_region(left + self._shift.x, low + self._shift.y, *size)
        self._copy.pos, self._copy.size = (left, low), size

    def hide(self) -> None:
        """Show nothing until it is placed again."""
        self._copy.size = (0, 0)

    def lay_ground(self) -> None:
        """The theme changed."""
        self._ground.rgba = LOOK.theme.ground

    def draw(self) -> None:
        """Draw what changed, where the owner is on the window."""
        owner = self._owner()
        if self._fbo is not None and owner is not None and owner.get_root_window() is not None:
            self._fbo.draw()

    def _begin(self, size: tuple[int, int]) -> None:
        self._fbo = Fbo(size=size)
        if self._lost is not None:
            self._fbo.add_reload_observer(lambda _fbo: self._lost())
        for instruction in (self._ground, ClearBuffers()) if self._wipe else ():
            self._fbo.add(instruction)
        for instruction in (self._shift, self.content):
            self._fbo.add(instruction)
        # A copy covers what is under it: mixing the two would cost as much again.
        for instruction in (self._fbo, Callback(_cover), Color(1, 1, 1, 1), self._copy, Callback(_mix)):
            self.shown.add(instruction)
        _PLATES.add(self)
        EventLoop.window.unbind(on_draw=_draw_plates)
        EventLoop.window.bind(on_draw=_draw_plates)


_PLATES: Final[WeakSet[Plate]] = WeakSet()


def _draw_plates(_window: object) -> None:
    """Before the window itself: turning from it to a plate and back would cost as much as copying all of it."""
    for plate in list(_PLATES):
        plate.draw()


def _cover(_instruction: object) -> None:
    glDisable(GL_BLEND)


def _mix(_instruction: object) -> None:
    glEnable(GL_BLEND)


class Keeping:
    """Mixed into a layout on bare ground: each of its children is kept on a plate of its own.

    A child may have a property `spread`: how many pixels it draws now round its box, never more than `most_spread`.
    """

    canvas: Any

    def __init__(self, **kwargs: Any) -> None:
        self._plates: dict[Any, Plate] = {}
        self._place_plates_soon = Clock.create_trigger(self._place_plates, -1)
        super().__init__(**kwargs)
        LOOK.follow(self._lay_plates_ground, "theme")

    def add_widget(self, widget: Any, *args: Any, **kwargs: Any) -> None:
        """A child, drawn on a plate."""
        super().add_widget(widget, *args, **kwargs)  # type: ignore[misc]  # the layout's
        plate = self._plates[widget] = Plate(self)
        self.canvas.remove(widget.canvas)
        plate.content.add(widget.canvas)
        self.canvas.add(plate.shown)
        widget.bind(pos=self._child_moved, size=self._child_moved)
        if hasattr(widget, "spread"):
            widget.bind(spread=self._show_spread, most_spread=self._child_moved)
        self._place_plates_soon()

    def remove_widget(self, widget: Any, *args: Any, **kwargs: Any) -> None:
        """It goes, and its plate with it."""
        plate = self._plates.pop(widget, None)
        if plate is not None:
            widget.unbind(pos=self._child_moved, size=self._child_moved)
            if hasattr(widget, "spread"):
                widget.unbind(spread=self._show_spread, most_spread=self._child_moved)
            plate.content.remove(widget.canvas)
            self.canvas.remove(plate.shown)
        super().remove_widget(widget, *args, **kwargs)  # type: ignore[misc]  # the layout's

    def _child_moved(self, *_changed: object) -> None:
        self._place_plates_soon()

    def _place_plates(self, *_when: object) -> None:
        for widget, plate in self._plates.items():
            if min(widget.size) > 0:
                plate.place(*widget.pos, *widget.size, margin=getattr(widget, "most_spread", 0))
                self._show_spread(widget)
            else:
                plate.hide()

    def _show_spread(self, widget: Any, *_changed: object) -> None:
        spread = getattr(widget, "spread", None)
        if spread is not None and min(widget.size) > 0:
            box = (widget.x - spread, widget.y - spread, widget.width + 2 * spread, widget.height + 2 * spread)
            self._plates[widget].show(*box)

    def _lay_plates_ground(self) -> None:
        for plate in self._plates.values():
            plate.lay_ground()


class KeptBox(Keeping, BoxLayout):
    """A row or column that stands on bare ground."""
