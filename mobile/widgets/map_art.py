"""What a structure's map and the targets of its pages look like. All lengths in pixels."""

from collections.abc import Hashable
from functools import lru_cache
from typing import Final

from mobile.ink import Ink
from mobile.overview import OverviewPicture, PageMark, PageState
from mobile.palette import Colour, blend
from mobile.widgets.corner_art import draw_corner
from mobile.widgets.look import LOOK
from shared_schema.designs import Design, Drawing
from shared_schema.designs.drawing import Mark

__all__ = ["MapArt", "draw_page", "draw_state", "draw_turn"]

_TALLER: Final = 4.0
_MANY: Final = 400  # above this, points are squares: a mesh holds 65,535 vertices


class MapArt:
    """The map of a structure. Of its pages, only those that look different are drawn anew: a map is the most there is to draw."""

    def __init__(self) -> None:
        self._design: Design | None = None
        self._drawing = Drawing((), ())
        self._sheet: Hashable = None
        self._frame = Ink()
        self._marks: dict[str, list[Mark]] = {}
        self._pages: dict[str, tuple[Hashable, Ink]] = {}

    def drawing(self, design: Design) -> Drawing:
        """The structure from the side."""
        if design is not self._design:
            self._design, self._drawing, self._sheet = design, design.side_view(), None
        return self._drawing

    def draw(self, ink: Ink, picture: OverviewPicture, x: float, y: float, width: float, height: float) -> None:
        """Draw it, the page that is open in full colour over the rest."""
        drawing, sheet = self.drawing(picture.design), (x, y, width, height, LOOK.theme, LOOK.ruler)
        spread = _Spread(drawing, x, y, width, height, min(LOOK.ruler.px(1.5), width / 8, height / 8))
        if sheet != self._sheet:
            self._begin(drawing, spread)
            self._sheet = sheet
        said: dict[str, list[tuple[str, str]]] = {}
        for path, status in picture.statuses:
            said.setdefault(_page_of(path), []).append((path, status))
        ink.add(self._frame)
        for page in sorted(self._marks, key=lambda page: page == picture.here):
            ink.add(self._points(spread, page, tuple(said.get(page, ())), here=page == picture.here))

    def _begin(self, drawing: Drawing, spread: "_Spread") -> None:
        """Another structure, or another place for it."""
        self._frame, self._marks, self._pages = Ink(), {}, {}
        for part in drawing.segments:
            ends = [spread.at(part.x1, part.y1), spread.at(part.x2, part.y2)]
            self._frame.line(ends, max(1.2, LOOK.ruler.px(0.3)), LOOK.theme.line)
        for mark in drawing.marks:
            self._marks.setdefault(_page_of(mark.path), []).append(mark)

    def _points(self, spread: "_Spread", page: str, said: tuple[tuple[str, str], ...], *, here: bool) -> Ink:
        looks = (said, here)
        known = self._pages.get(page)
        if known is not None and known[0] == looks:
            return known[1]
        ink, theme, statuses = Ink(), LOOK.theme, dict(said)
        many = len(self._drawing.marks) > _MANY
        for mark in self._marks[page]:
            status = statuses.get(mark.path)
            paint = theme.muted if status is None else LOOK.condition(status).fill or theme.muted
            paint = paint if here else blend(paint, theme.ground, 0.55)
            _point(ink, *spread.at(mark.x, mark.y), LOOK.ruler.px(1.1 if here else 0.7), paint, ringed=here, many=many)
        self._pages[page] = (looks, ink)
        return ink


class _Spread:
    """Spreads a drawing over a box, upwards by up to _TALLER times more than across: levels stand apart that way."""

    def __init__(self, drawing: Drawing, x: float, y: float, width: float, height: float, margin: float) -> None:
        self._left, self._low, right, top = drawing.bounds
        across = (width - 2 * margin) / max(right - self._left, 1e-6)
        up = (height - 2 * margin) / max(top - self._low, 1e-6)
        self._across = min(across, up * _TALLER)
        self._up = min(up, self._across * _TALLER)
        self._x = x + (width - self._across * (right - self._left)) / 2
        self._y = y + (height - self._up * (top - self._low)) / 2

    def at(self, x: float, y: float) -> tuple[float, float]:
        """A point of the drawing in pixels."""
        return self._x + (x - self._left) * self._across, self._y + (y - self._low) * self._up


def _point(ink: Ink, x: float, y: float, radius: float, paint: Colour, *, ringed: bool, many: bool) -> None:
    if many:
        ink.box(x - radius / 2, y - radius / 2, radius, radius, paint)
        return
    if ringed:
        ink.disc(x, y, radius * 1.35, LOOK.theme.outline)
    ink.disc(x, y, radius, paint)


def draw_page(ink: Ink, page: PageMark, x: float, y: float, width: float, height: float, *, here: bool, pressed: bool) -> None:
    """The target of a page: framed where it is open now, with the sign of its state to the right of its number."""
    ink.add(_page(page.state, page.open, width, height, here or pressed, here, (LOOK.theme, LOOK.ruler)), x, y)


@lru_cache(maxsize=256)
def _page(state: PageState, asks: bool, width: float, height: float, held: bool, here: bool, _look: Hashable) -> Ink:
    ink, theme, px = Ink(), LOOK.theme, LOOK.ruler.px
    edge = theme.text if held else theme.line
    fill = theme.pressed if held else theme.surface
    ink.slab(0, 0, width, height, fill, edge, px(0.8) if here else max(1.5, px(0.3)))
    draw_state(ink, state, width * 0.66, height / 2, min(width * 0.17, height * 0.23))
    if asks:
        draw_corner(ink, 0, 0, width, height)
    return ink


def draw_state(ink: Ink, state: PageState, x: float, y: float, radius: float) -> None:
    """The sign of a page's state: an empty box, one half full, a full one with a tick, one crossed out."""
    theme, thick = LOOK.theme, max(1.5, radius * 0.16)
    left, low, side = x - radius, y - radius, 2 * radius
    ink.slab(left, low, side, side, theme.main if state == "signed_off" else theme.ground, theme.text, thick)
    if state == "in_work":
        ink.box(left + thick, low + thick, side - 2 * thick, radius - thick, theme.text)
    elif state == "signed_off":
        tick = [
            (x - radius * 0.55, y + radius * 0.02),
            (x - radius * 0.15, y - radius * 0.42),
            (x + radius * 0.6, y + radius * 0.48),
        ]
        ink.line(tick, thick * 1.5, theme.on_main)
    elif state == "not_reached":
        away = radius * 0.6
        ink.line([(x - away, y - away), (x + away, y + away)], thick * 1.2, theme.text)
        ink.line([(x - away, y + away), (x + away, y - away)], thick * 1.2, theme.text)


def draw_turn(ink: Ink, x: float, y: float, width: float, height: float, *, up: bool, pressed: bool) -> None:
    """A target that turns to what is before or after: an arrow up or down."""
    theme = LOOK.theme
    ink.slab(x, y, width, height, theme.pressed if pressed else theme.ground, theme.line, max(1.5, LOOK.ruler.px(0.3)))
    draw_arrow(ink, x + width / 2, y + height / 2, min(width, height) * 0.22, up=up)


def draw_arrow(ink: Ink, x: float, y: float, radius: float, *, up: bool) -> None:
    """A broad arrowhead."""
    sign = 1 if up else -1
    ink.line(
        [(x - radius, y - sign * radius / 2), (x, y + sign * radius / 2), (x + radius, y - sign * radius / 2)],
        radius * 0.4,
        LOOK.theme.text,
    )


def _page_of(path: str) -> str:
    return path.partition(".")[0]
