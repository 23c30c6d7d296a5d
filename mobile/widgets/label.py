"""Text that is as large as its box allows."""

from collections.abc import Callable
from functools import lru_cache, partial
from typing import Any

from kivy.clock import Clock
from kivy.core.text import Label as CoreLabel
from kivy.properties import BooleanProperty, NumericProperty
from kivy.uix.label import Label

from mobile.ruler import TEXT, TEXT_SIZES
from mobile.widgets.look import LOOK

__all__ = ["FitLabel", "fits"]


@lru_cache(maxsize=4096)
def _extents(text: str, px: float, bold: bool) -> tuple[int, int]:
    width, height = CoreLabel(font_size=px, bold=bold).get_extents(text)
    return int(width), int(height)


def fits(text: str, width: float, height: float, extents: Callable[[str], tuple[int, int]]) -> bool:
    """Whether text, broken between words only, fits a box; `extents` gives the width and height of a line."""
    lines = 0
    space = extents(" ")[0]
    for paragraph in text.split("\n"):
        used = 0.0
        lines += 1
        for word in paragraph.split():
            wide = extents(word)[0]
            if wide > width:
                return False
            if used and used + space + wide > width:
                lines, used = lines + 1, wide
            else:
                used += wide + (space if used else 0)
    return lines * extents("Åg")[1] <= height


class FitLabel(Label):
    """A label whose type is `most` sp high, or smaller where its box asks for that, but never under TEXT_LEAST.

    `clipped` says that even then it does not fit.
    """

    most = NumericProperty(TEXT)
    clipped = BooleanProperty(False)

    def __init__(self, **kwargs: Any) -> None:
        self._fit_soon = Clock.create_trigger(self.fit, -1)
        super().__init__(**kwargs)
        for name in ("text", "size", "most", "bold", "padding"):
            self.fbind(name, self._fit_soon)
        LOOK.follow(self._refit, "ruler")
        self._fit_soon()

    def _refit(self, *_changed: object) -> None:
        self._fit_soon()

    def fit(self, *_when: object) -> None:
        """Choose the size of the type."""
        left, low, right, up = self.padding
        width, height = self.width - left - right - 1, self.height - low - up
        if width <= 0 or height <= 0:
            return
        sizes = [LOOK.ruler.text(sp) for sp in (self.most, *TEXT_SIZES) if sp <= self.most]
        # One after another, largest first: to measure a line takes longer than all else here.
        fitting = next((px for px in sizes if fits(self.text, width, height, partial(_extents, px=px, bold=self.bold))), None)
        self.clipped = fitting is None and bool(self.text)
        self.font_size = sizes[-1] if fitting is None else fitting
        # With a height given, Kivy lays middled text out from its middle line break and drops lines; without, it is
        # drawn round the middle of the widget anyway.
        self.text_size = (self.width, None)
