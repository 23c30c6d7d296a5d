"""The small map of a structure, with its pages as targets."""

from typing import Any, Final

from kivy.clock import Clock
from kivy.graphics import InstructionGroup
from kivy.properties import ObjectProperty
from kivy.uix.widget import Widget

from mobile.ink import Ink
from mobile.overview import Box, OverviewLayout, OverviewPicture, PageMark, lay_out_overview
from mobile.ruler import TARGET_LEAST, TEXT, TEXT_LEAST
from mobile.widgets.corner_art import write_corner
from mobile.widgets.look import LOOK
from mobile.widgets.map_art import MapArt, draw_page, draw_turn
from mobile.widgets.mesh import InkMesh, ink_context, write_text
from mobile.widgets.target import TargetSpot, is_finger

__all__ = ["StructureOverview"]

_WIDE: Final = 1.3  # a structure this much wider than high has its map above the targets


class StructureOverview(Widget):
    """Shows `picture` (mobile.overview.OverviewPicture); `on_page(path)` when a page was tapped.

    Where there are more pages than fit, two of the targets turn to earlier and later ones.
    """

    picture = ObjectProperty(None, allownone=True)

    def __init__(self, **kwargs: Any) -> None:
        self.register_event_type("on_page")
        self._layout: OverviewLayout | None = None
        self._first: int | None = None
        self._down = ""
        self._art, self._texts, context = MapArt(), InstructionGroup(), ink_context()
        self._mesh = InkMesh(context)
        self._build_soon = Clock.create_trigger(self.build, -1)
        super().__init__(**kwargs)
        for instruction in (context, self._texts):
            self.canvas.add(instruction)
        for name in ("pos", "size"):
            self.fbind(name, self._later)
        LOOK.follow(self._later, "theme", "ruler")

    def on_page(self, path: str) -> None:
        """The default: nothing."""

    def on_picture(self, *_changed: object) -> None:
        """Show the page that is open now."""
        self._first = None
        self._build_soon()

    def _later(self, *_changed: object) -> None:
        self._build_soon()

    def build(self, *_when: object) -> None:
        """Lay out and draw all of it."""
        picture, ruler, ink = self.picture, LOOK.ruler, Ink()
        self._texts.clear()
        if picture is not None and min(self.size) >= 1:
            left, low, right, high = self._art.drawing(picture.design).bounds
            here = next((index for index, page in enumerate(picture.pages) if page.path == picture.here), 0)
            here = here if self._first is None else self._first
            wide = right - left > _WIDE * (high - low)
            self._layout = lay_out_overview(len(picture.pages), here, ruler.mm(self.width), ruler.mm(self.height), wide=wide)
            self._draw(picture, self._layout, ink, self._texts)
        self._mesh.show(ink)

    def _draw(self, picture: OverviewPicture, layout: OverviewLayout, ink: Ink, texts: InstructionGroup) -> None:
        self._art.draw(ink, picture, *self._rectangle(layout.map))
        for key, box in self._boxes(layout).items():
            x, y, width, height = self._rectangle(box)
            if key in ("earlier", "later"):
                draw_turn(ink, x, y, width, height, up=key == "earlier", pressed=key == self._down)
                continue
            page = _page(picture, key)
            draw_page(ink, page, x, y, width, height, here=key == picture.here, pressed=key == self._down)
            px, least = LOOK.ruler.text(TEXT), LOOK.ruler.text(TEXT_LEAST)
            write_text(texts, page.path, x + width * 0.26, y + height / 2, px if len(page.path) < 3 else least, LOOK.theme.text)
            if page.open:
                write_corner(texts, x, y, width, height)

    def _boxes(self, layout: OverviewLayout) -> dict[str, Box]:
        """The targets by the path of their page, and `earlier` and `later`."""
        pages = self.picture.pages[layout.first : layout.first + len(layout.targets)]
        boxes = {page.path: box for page, box in zip(pages, layout.targets, strict=True)}
        if layout.earlier is not None and layout.later is not None:
            boxes |= {"earlier": layout.earlier, "later": layout.later}
        return boxes

    def _rectangle(self, box: Box) -> tuple[float, float, float, float]:
        px = LOOK.ruler.px
        return round(self.x + px(box.x)), round(self.y + px(box.y)), round(px(box.width)), round(px(box.height))

    def _find(self, x: float, y: float) -> str:
        if self._layout is not None and self.picture is not None:
            for key, box in self._boxes(self._layout).items():
                left, low, width, height = self._rectangle(box)
                if left <= x <= left + width and low <= y <= low + height:
                    return key
        return ""

    def _press(self, key: str) -> None:
        if key != self._down:
            self._down = key
            self._build_soon()

    def on_touch_down(self, touch: Any) -> bool:
        """Take the finger where it comes down on a page."""
        if not is_finger(touch) or not self.collide_point(*touch.pos):
            return False
        key = self._find(*touch.pos)
        if key:
            touch.grab(self)
            touch.ud[self] = key
            self._press(key)
        return True

    def on_touch_move(self, touch: Any) -> bool:
        """Show whether letting go now would act."""
        if touch.grab_current is not self:
            return False
        began = touch.ud[self]
        self._press(began if self._find(*touch.pos) == began else "")
        return True

    def on_touch_up(self, touch: Any) -> bool:
        """Act where the finger lets go of the target that it came down on."""
        if touch.grab_current is not self:
            return False
        touch.ungrab(self)
        began = touch.ud.pop(self)
        self._press("")
        if self._find(*touch.pos) == began:
            self._act(began)
        return True

    def _act(self, key: str) -> None:
        layout = self._layout
        if key not in ("earlier", "later") or layout is None:
            self.dispatch("on_page", key)
            return
        step = len(layout.targets) if key == "later" else -1
        self._first = min(max(0, layout.first + step), len(self.picture.pages) - 1)
        self._build_soon()

    def targets(self) -> list[TargetSpot]:
        """What can be tapped here: `page:<path>`, and `earlier` and `later`."""
        if self._layout is None or self.picture is None:
            return []
        spots = []
        for key, box in self._boxes(self._layout).items():
            x, y, width, height = self._rectangle(box)
            name = key if key in ("earlier", "later") else f"page:{key}"
            left, low = self.to_window(x, y)
            spots.append(TargetSpot(name, left, low, width, height, TARGET_LEAST))
        return spots


def _page(picture: OverviewPicture, path: str) -> PageMark:
    return next(page for page in picture.pages if page.path == path)
