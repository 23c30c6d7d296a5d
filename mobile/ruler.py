"""Sizes on the glass: millimetres for fingers, scaled points for text.

A screen's reported dots per inch can lie, so the ruler is put right once against a bank card, which is 85.6 mm long
everywhere (ISO/IEC 7810, ID-1).
"""

from dataclasses import dataclass
from typing import Final

__all__ = [
    "CARD_HIGH",
    "CARD_LONG",
    "DESTRUCTIVE",
    "GAP",
    "LARGEST_POSITION",
    "POSITION",
    "POSITION_LEAST",
    "STATUS",
    "STATUS_GAP",
    "TARGET_LEAST",
    "TEXT",
    "TEXT_LEAST",
    "TEXT_SIZES",
    "Ruler",
]

CARD_LONG: Final = 85.6
CARD_HIGH: Final = 53.98

POSITION: Final = 18.0
"""mm across for a position; `POSITION_LEAST` where a page is full."""
POSITION_LEAST: Final = 15.0
LARGEST_POSITION: Final = 26.0
TARGET_LEAST: Final = 15.0
"""mm across for anything else that can be tapped."""
GAP: Final = 3.0
STATUS: Final = 20.0
"""mm across for status and sign-off buttons and the keys of a pad, `STATUS_GAP` apart."""
STATUS_GAP: Final = 6.0
DESTRUCTIVE: Final = 25.0

TEXT: Final = 28.0
"""sp; shrinks where it must, never under `TEXT_LEAST`."""
TEXT_LEAST: Final = 20.0
TEXT_SIZES: Final = (28.0, 26.0, 24.0, 22.0, 20.0)

_MM_AN_INCH: Final = 25.4
_SP_AN_INCH: Final = 160.0  # what a scaled point is by definition


@dataclass(frozen=True, slots=True)
class Ruler:
    """Pixels for sizes. `dpi`, `density` and `font_scale` as the platform reports them; `factor` as calibrated.

    Raises ValueError where one is not positive.
    """

    dpi: float = 96.0
    density: float = 1.0
    font_scale: float = 1.0
    factor: float = 1.0

    def __post_init__(self) -> None:
        for name in ("dpi", "density", "font_scale", "factor"):
            if getattr(self, name) <= 0:
                raise ValueError(f"{name} = {getattr(self, name)} makes no ruler: give a positive number")

    def px(self, mm: float) -> float:
        """Millimetres on the glass -> pixels."""
        return mm * self.dpi * self.factor / _MM_AN_INCH

    def mm(self, px: float) -> float:
        """Pixels -> millimetres on the glass."""
        return px * _MM_AN_INCH / (self.dpi * self.factor)

    def text(self, sp: float = TEXT) -> float:
        """Scaled points -> pixels, and never smaller on the glass than that many points are by definition.

        Some platforms report a density of 1 for any screen; text on a fine one would be tiny.
        """
        return max(sp * self.density, self.px(sp * _MM_AN_INCH / _SP_AN_INCH)) * self.font_scale

    def calibrated(self, drawn_px: float, true_mm: float = CARD_LONG) -> "Ruler":
        """The ruler by which something drawn `drawn_px` long is as long as `true_mm` on the glass."""
        return Ruler(self.dpi, self.density, self.font_scale, drawn_px * _MM_AN_INCH / (true_mm * self.dpi))
