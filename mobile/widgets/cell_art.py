"""What a position and the head of its arm look like on a board. All lengths in pixels."""

from collections.abc import Hashable
from dataclasses import replace
from functools import lru_cache
from typing import Final

from kivy.graphics import InstructionGroup

from mobile.board import BoardSpot, Head
from mobile.ink import Ink
from mobile.palette import Colour, Condition, blend
from mobile.ruler import TEXT_LEAST
from mobile.sign import draw_sign, letter_spot
from mobile.widgets.corner_art import draw_corner, write_corner
from mobile.widgets.look import LOOK
from mobile.widgets.mesh import text_texture, write_text

__all__ = ["cell_ink", "draw_head", "head_word", "write_cell", "write_head"]

_FAINT: Final = 0.45  # how much of its colour what the last visit found keeps
_UNDER: Final = 0.45  # of large type: how far under the middle of an arm's head its number stands
_STRIP: Final = 0.27  # of a cell: its upper strip, with number and last visit; the sign has the rest


def head_word(kind: str) -> str:
    """What a group of positions is called: an arm, a row, a stretch of rope."""
    _ = LOOK.words.text
    return {"arm": _("Arm"), "row": _("Row"), "stretch": _("Stretch")}[kind]


def _sign_place(x: float, y: float, size: float) -> tuple[float, float, float]:
    """The middle and the radius of a cell's sign."""
    room = size * (1 - _STRIP)
    return x + size / 2, y + room / 2 + size * 0.035, room * 0.43


def _faint_place(x: float, y: float, size: float) -> tuple[float, float, float]:
    """The same of the small sign of the last visit."""
    radius = size * _STRIP * 0.42
    return x + size - radius - size * 0.07, y + size - radius - size * 0.05, radius


def _faint(spot: BoardSpot) -> Condition | None:
    """What the last visit found, where it is to be shown."""
    return LOOK.condition(spot.faint) if spot.faint and LOOK.faint else None


def cell_ink(spot: BoardSpot, size: float, *, pressed: bool) -> Ink:
    """A tile with its sign, the last visit's small one, the ring, and the corner that says that records disagree.

    Its lower left corner is at (0, 0). Tiles that look alike are drawn once.
    """
    return _cell_ink(replace(spot, path=""), size, pressed, (LOOK.theme, LOOK.ruler, LOOK.faint))


@lru_cache(maxsize=1024)
def _cell_ink(spot: BoardSpot, size: float, pressed: bool, _look: Hashable) -> Ink:
    theme, px, ink, x, y = LOOK.theme, LOOK.ruler.px, Ink(), 0.0, 0.0
    ground = theme.pressed if pressed or spot.selected else theme.ground if spot.empty else theme.surface
    ink.slab(x, y, size, size, ground, theme.line, max(1.5, px(0.3)))
    if spot.last_touched:
        ink.slab_edge(x, y, size, size, px(1.0), theme.ring)
    faint = _faint(spot)
    if faint is not None:
        _draw_faint(ink, faint, ground, *_faint_place(x, y, size))
    if not spot.empty or spot.status is not None:
        _draw_status(ink, spot, x, y, size)
    if spot.open:
        draw_corner(ink, x, y, size, size)
    return ink


def _draw_status(ink: Ink, spot: BoardSpot, x: float, y: float, size: float) -> None:
    """The sign of what this dive says, or that it says nothing."""
    condition = LOOK.condition(spot.status)
    centre_x, centre_y, radius = _sign_place(x, y, size)
    outline = LOOK.theme.muted if condition.fill is None else LOOK.theme.outline
    if spot.unseen:
        _strike(ink, x, y, size)
        outline = LOOK.theme.text
    draw_sign(ink, condition, centre_x, centre_y, radius, outline, max(1.5, LOOK.ruler.px(0.45)))


def _strike(ink: Ink, x: float, y: float, size: float) -> None:
    """Lines across the lower part of a tile: somebody said that nobody looked here."""
    thick, room = max(1.5, LOOK.ruler.px(0.3)), size * (1 - _STRIP)
    for share in (0.25, 0.5, 0.75, 1.0):
        near = room * share
        ink.line([(x + size * 0.05, y + near), (x + near, y + size * 0.05)], thick, LOOK.theme.line)
        ink.line([(x + size - near, y + room), (x + size * 0.95, y + room - near)], thick, LOOK.theme.line)


def _draw_faint(ink: Ink, condition: Condition, ground: Colour, x: float, y: float, radius: float) -> None:
    fill = None if condition.fill is None else blend(condition.fill, ground, _FAINT)
    pale = Condition(condition.status, condition.word, condition.letter, condition.shape, fill, condition.letter_colour)
    draw_sign(ink, pale, x, y, radius, LOOK.theme.line, max(1.0, LOOK.ruler.px(0.2)))


def write_cell(texts: InstructionGroup, spot: BoardSpot, number: int, x: float, y: float, size: float) -> None:
    """The number of the place, the letters, and the sign of disagreement."""
    theme, least = LOOK.theme, LOOK.ruler.text(TEXT_LEAST)
    strip_y = y + size - size * _STRIP / 2 - size * 0.02
    digits = text_texture(str(number), least)
    write_text(texts, str(number), x + size * 0.08 + digits.width / 2, strip_y, least, theme.muted if spot.empty else theme.text)
    faint = _faint(spot)
    if faint is not None:
        left, middle, radius = _faint_place(x, y, size)
        letter = LOOK.letter(faint)
        write_text(texts, letter, left - radius - size * 0.1, middle, least, theme.muted, bold=False)
    if not spot.empty or spot.status is not None:
        condition = LOOK.condition(spot.status)
        place = letter_spot(condition, *_sign_place(x, y, size))
        bare = theme.text if spot.unseen else theme.muted
        ink = bare if condition.fill is None else condition.letter_colour
        write_text(texts, LOOK.letter(condition), place.x, place.y, place.em, ink)
    if spot.open:
        write_corner(texts, x, y, size, size)


def draw_head(ink: Ink, x: float, y: float, width: float, height: float, *, pressed: bool) -> None:
    """The head of an arm, with a point that leads to its places."""
    theme = LOOK.theme
    ink.slab(x, y, width, height, theme.pressed if pressed else theme.ground, theme.line, max(1.5, LOOK.ruler.px(0.3)))
    tip = min(width, height) * 0.09
    left, middle = x + width - tip * 2.1, y + height / 2 - LOOK.ruler.text() * _UNDER
    ink.line([(left, middle - tip), (left + tip, middle), (left, middle + tip)], tip * 0.5, theme.muted)


def write_head(texts: InstructionGroup, head: Head, x: float, y: float, width: float, height: float) -> None:
    """`Arm` over its number."""
    theme, ruler = LOOK.theme, LOOK.ruler
    middle, centre = y + height / 2, x + width / 2
    word = head_word(head.kind)
    least, large = ruler.text(TEXT_LEAST), ruler.text()
    write_text(texts, word, centre, middle + large * 0.55, least, theme.text, bold=False)
    write_text(texts, str(head.number), centre, middle - large * _UNDER, large * 1.15, theme.text)
