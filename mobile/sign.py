"""Draws the sign of a condition: its shape, filled and outlined, and says where its letter stands."""

from typing import Final, NamedTuple

from mobile.ink import Ink
from mobile.palette import Colour, Condition
from mobile.shapes import SHAPES

__all__ = ["LetterSpot", "draw_sign", "letter_spot"]

_DASHES: Final = 8
_EM: Final = 1.12  # of the radius: what fits into the narrowest shapes with room around it


class LetterSpot(NamedTuple):
    """The middle of a letter and the height of its type, in pixels."""

    x: float
    y: float
    em: float


def draw_sign(ink: Ink, condition: Condition, x: float, y: float, radius: float, outline: Colour, thick: float) -> None:
    """The shape of a condition round a point, `radius` pixels to each side, with an outline `thick` pixels wide."""
    shape = SHAPES[condition.shape]
    points = [(x + px * radius, y + py * radius) for px, py in shape.points]
    if shape.dashed:
        ink.dashes(points, thick, outline, _DASHES)
        return
    if condition.fill is not None:
        ink.fan((x, y), points, condition.fill)
    ink.line(points, thick, outline, closed=True)


def letter_spot(condition: Condition, x: float, y: float, radius: float) -> LetterSpot:
    """Where the letter of a sign drawn round a point stands."""
    shape = SHAPES[condition.shape]
    return LetterSpot(x, y + shape.lift * radius, radius * _EM * shape.letter)
