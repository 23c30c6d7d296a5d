"""The folded corner that says: records of this disagree. All lengths in pixels."""

from typing import Final

from kivy.graphics import InstructionGroup

from mobile.ink import Ink
from mobile.ruler import TEXT_LEAST
from mobile.widgets.look import LOOK
from mobile.widgets.mesh import write_text

__all__ = ["draw_corner", "write_corner"]

_SIDE_MM: Final = 6.5


def _place(x: float, y: float, width: float, height: float) -> tuple[float, float, float]:
    """The lower right corner, a little inside, and the length of the fold."""
    px = LOOK.ruler.px
    return x + width - px(0.4), y + px(0.4), min(px(_SIDE_MM), width * 0.45, height * 0.45)


def draw_corner(ink: Ink, x: float, y: float, width: float, height: float) -> None:
    """The fold at the lower right of a rectangle."""
    right, low, side = _place(x, y, width, height)
    corner = [(right, low), (right, low + side), (right - side, low)]
    ink.fan((right - side * 0.3, low + side * 0.3), corner, LOOK.theme.text)
    ink.line(corner, 1.5, LOOK.theme.text, closed=True)


def write_corner(texts: InstructionGroup, x: float, y: float, width: float, height: float) -> None:
    """The unequal sign on it."""
    right, low, side = _place(x, y, width, height)
    px = LOOK.ruler.text(TEXT_LEAST)
    write_text(texts, "≠", right - side * 0.31, low + side * 0.32, px, LOOK.theme.ground)
