"""What a structure's map and the targets of its pages look like. All lengths in pixels."""

from typing import Final

from mobile.ink import Ink
from mobile.overview import OverviewPicture, PageMark, PageState
from mobile.palette import Colour, blend
from mobile.widgets.corner_art import draw_corner
from mobile.widgets.look import LOOK
from shared_schema.designs import Drawing

__all__ = ["draw_map", "draw_page", "draw_state", "draw_turn"]

_TALLER: Final = 4.0
_MANY: Final = 400  # above this, points are squares: a mesh holds 65,535 vertices


def draw_map(ink: Ink, picture: OverviewPicture, x: float, y: float, width: float, height: float) -> None:
    """The structure from the side: the page that is open in full colour, the rest behind it."""
    theme, px = LOOK.theme, LOOK.ruler.px
    margin = min(px(1.5), width / 8, height / 8)
    drawing = picture.design.side_view()
    spread = _Spread(drawing, x, y, width, height, margin)
    for part in drawing.segments:
        ink.line([spread.at(part.x1, part.y1), spread.at(part.x2, part.y2)], max(1.2, px(0.3)), theme.line)
    statuses = dict(picture.statuses)
    ordered = sorted(drawing.marks, key=lambda mark: _page_of(mark.path) == picture.here)
    for mark in ordered:
        here = _page_of(mark.path) == picture.here
        status = statuses.get(mark.path)
        paint = theme.muted if status is None else LOOK.condition(status).fill or theme.muted
        paint = paint if here else blend(paint, theme.ground, 0.55)
        _point(ink, *spread.at(mark.x, mark.y), px(1.1 if here else 0.7), paint, ringed=here, many=len(drawing.marks) > _MANY)


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
    theme, px = LOOK.theme, LOOK.ruler.px
    edge = theme.text if here or pressed else theme.line
    fill = theme.pressed if here or pressed else theme.surface
    ink.slab(x, y, width, height, fill, edge, px(0.8) if here else max(1.5, px(0.3)))
    draw_state(ink, page.state, x + width * 0.66, y + height / 2, min(width * 0.17, height * 0.23))
    if page.open:
        draw_corner(ink, x, y, width, height)


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
