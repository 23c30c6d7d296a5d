"""A whole page of positions, drawn as one widget."""

from typing import Any, Final

from kivy.clock import Clock
from kivy.graphics import Callback, Color, InstructionGroup, Rectangle
from kivy.properties import NumericProperty, ObjectProperty
from kivy.uix.widget import Widget

from mobile.board import BoardLayout, BoardPicture, BoardSpot, Cell, Head, Part, lay_out_board
from mobile.ink import Ink
from mobile.ruler import POSITION_LEAST
from mobile.widgets.cell_art import cell_ink, draw_head, write_cell, write_head
from mobile.widgets.look import LOOK
from mobile.widgets.mesh import InkMesh, ink_context
from mobile.widgets.plate import Plate
from mobile.widgets.target import TargetSpot, is_finger

__all__ = ["PageBoard"]

_ROUND: Final = 2  # pixels round a target that its soft edges may take


class PageBoard(Widget):
    """Shows `picture` (mobile.board.BoardPicture) and says what was tapped.

    Events: `on_place(path)`, `on_arm(number)` (the group's number on this page), `on_shown(part)` when a part was drawn. A
    page with more positions than fit is cut into `parts`; `part`, from 0, is the one shown: at first the one with the place
    that was touched last. A change of spots repaints only those.
    """

    picture = ObjectProperty(None, allownone=True)
    part = NumericProperty(0)
    parts = NumericProperty(1)

    def __init__(self, **kwargs: Any) -> None:
        self.register_event_type("on_place")
        self.register_event_type("on_arm")
        self.register_event_type("on_shown")
        self._layout: BoardLayout | None = None
        self._shown: BoardPicture | None = None
        self._first: BoardPicture | None = None
        self._down: Cell | Head | None = None
        self._whole, self._stale = True, dict[str, Cell | Head]()
        self._ink, self._texts = ink_context(), InstructionGroup()
        self._plate = Plate(self, wipe=False, lost=self._later)
        self._build_soon = Clock.create_trigger(self.build, -1)
        self._paint_soon = Clock.create_trigger(self.paint, -1)
        super().__init__(**kwargs)
        self.canvas.add(self._plate.shown)
        for name in ("pos", "size", "part"):
            self.fbind(name, self._later)
        LOOK.follow(self._later, "theme", "ruler", "faint", "words")

    def on_place(self, path: str) -> None:
        """The default: nothing."""

    def on_arm(self, number: int) -> None:
        """The default: nothing."""

    def on_shown(self, part: int) -> None:
        """The default: nothing."""

    def _later(self, *_changed: object) -> None:
        self._build_soon()

    def on_picture(self, *_changed: object) -> None:
        """Another page is laid out; the same one is repainted where it differs, at once."""
        picture, shown = self.picture, self._shown
        if picture is None or shown is None or picture.page is not shown.page or self._layout is None:
            self.part, self._first = 0, picture
            self._build_soon()
            return
        self._shown = picture
        for cell in self._part.cells:
            if picture.at(cell.path) != shown.at(cell.path):
                self._repaint(cell)

    @property
    def _part(self) -> Part:
        if self._layout is None:
            return Part((), ())
        return self._layout.parts[min(int(self.part), len(self._layout.parts) - 1)]

    @property
    def _targets(self) -> list[Cell | Head]:
        return [*self._part.cells, *self._part.heads]

    def show_place(self, path: str) -> None:
        """Turn to the part that a position is on."""
        if self._layout is not None:
            self.part = self._layout.part_of(path)

    def build(self, *_when: object) -> None:
        """Lay the page out for the size at hand and draw all of it."""
        self._shown = self.picture
        if self.picture is None or min(self.size) < 1:
            self._plate.hide()
            return
        ruler = LOOK.ruler
        self._layout = lay_out_board(self.picture.page, ruler.mm(self.width), ruler.mm(self.height))
        self.parts = len(self._layout.parts)
        if self._first is not None:
            touched = next((spot.path for spot in self._first.spots if spot.last_touched), "")
            self.part, self._first = self._layout.part_of(touched), None
        self._plate.place(*self.pos, *self.size, margin=_ROUND)
        self._whole, self._stale = True, {}
        self.paint()
        self.dispatch("on_shown", int(self.part))

    def _repaint(self, target: Cell | Head) -> None:
        self._stale[_key(target)] = target
        self._paint_soon()

    def paint(self, *_when: object) -> None:
        """Paint all of it, or over what was there the targets that look different since it was last drawn."""
        if self._layout is None:
            return
        content = self._plate.content
        for group in (content, self._ink, self._texts):
            group.clear()
        content.add(Color(*LOOK.theme.ground))
        if self._whole:
            content.add(_patch(self.x - 1, self.y - 1, self.width + 2, self.height + 2))
        for target in self._targets if self._whole else self._stale.values():
            if not self._whole:
                content.add(_patch(*self._rectangle(target)))
            self._paint(target)
        for instruction in (self._ink, self._texts, Callback(self._drawn)):
            content.add(instruction)

    def _drawn(self, _instruction: object) -> None:
        self._whole, self._stale = False, {}

    def _paint(self, target: Cell | Head) -> None:
        """Draw one target."""
        x, y, width, height = self._rectangle(target)
        pressed = target == self._down
        mesh = InkMesh(self._ink)
        if isinstance(target, Head):
            ink = Ink()
            draw_head(ink, x, y, width, height, pressed=pressed)
            mesh.show(ink)
            write_head(self._texts, target, x, y, width, height)
        else:
            spot = self._spot(target)
            mesh.show(cell_ink(spot, width, pressed=pressed), x, y)
            write_cell(self._texts, spot, target.number, x, y, width)

    def _spot(self, cell: Cell) -> BoardSpot:
        spot: BoardSpot = self.picture.at(cell.path)
        return spot

    def _rectangle(self, target: Cell | Head) -> tuple[float, float, float, float]:
        """x, y, width, height in the widget's pixels."""
        px = LOOK.ruler.px
        size = self._layout.size if self._layout is not None else 0.0
        width, height = (target.width, target.height) if isinstance(target, Head) else (size, size)
        return round(self.x + px(target.x)), round(self.y + px(target.y)), round(px(width)), round(px(height))

    def _find(self, x: float, y: float) -> Cell | Head | None:
        for target in self._targets:
            left, low, width, height = self._rectangle(target)
            if left <= x <= left + width and low <= y <= low + height:
                return target
        return None

    def _press(self, target: Cell | Head | None) -> None:
        before, self._down = self._down, target
        for changed in (before, target):
            if changed is not None and before != target and changed in self._targets:
                self._repaint(changed)

    def on_touch_down(self, touch: Any) -> bool:
        """Take the finger where it comes down on a target."""
        if not is_finger(touch) or not self.collide_point(*touch.pos):
            return False
        found = self._find(*touch.pos)
        if found is not None:
            touch.grab(self)
            touch.ud[self] = found
            self._press(found)
        return True

    def on_touch_move(self, touch: Any) -> bool:
        """Show whether letting go now would act."""
        if touch.grab_current is not self:
            return False
        began = touch.ud[self]
        self._press(began if self._find(*touch.pos) == began else None)
        return True

    def on_touch_up(self, touch: Any) -> bool:
        """Act where the finger lets go of the target that it came down on."""
        if touch.grab_current is not self:
            return False
        touch.ungrab(self)
        began = touch.ud.pop(self)
        self._press(None)
        if self._find(*touch.pos) == began:
            if isinstance(began, Head):
                self.dispatch("on_arm", began.number)
            else:
                self.dispatch("on_place", began.path)
        return True

    def targets(self) -> list[TargetSpot]:
        """What can be tapped here: positions by their path, arms as `arm:<number>`."""
        spots = []
        for target in self._targets:
            x, y, width, height = self._rectangle(target)
            left, low = self.to_window(x, y)
            spots.append(TargetSpot(_key(target), left, low, width, height, POSITION_LEAST))
        return spots


def _patch(x: float, y: float, width: float, height: float) -> Rectangle:
    """Bare ground for a target and its soft edges."""
    return Rectangle(pos=(x - _ROUND, y - _ROUND), size=(width + 2 * _ROUND, height + 2 * _ROUND))


def _key(target: Cell | Head) -> str:
    return f"arm:{target.number}" if isinstance(target, Head) else target.path
