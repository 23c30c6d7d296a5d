"""Measures the glass with a bank card, so that a millimetre is a millimetre."""

from typing import Any

from kivy.properties import NumericProperty

from mobile.ruler import CARD_HIGH, CARD_LONG
from mobile.screens.late import LateScreen
from mobile.widgets.look import LOOK

__all__ = ["CalibrateScreen"]


class CalibrateScreen(LateScreen):
    """Draws a card, `card_long` by `card_high` pixels, that is made as large as the one held against it.

    Event: `on_measured(factor)` when it fits.
    """

    card_long = NumericProperty(300)
    card_high = NumericProperty(200)

    def __init__(self, **kwargs: Any) -> None:
        self.register_event_type("on_measured")
        super().__init__(**kwargs)

    def on_measured(self, factor: float) -> None:
        """The default: nothing."""

    def on_size(self, *_changed: object) -> None:
        """Start from the size in force, as soon as there is room."""
        self._draw(LOOK.ruler.px(CARD_LONG))

    def grow(self, mm: float) -> None:
        """Make the card longer, or with a negative number shorter, within the screen."""
        self._draw(self.card_long + LOOK.ruler.px(mm))

    def _draw(self, long: float) -> None:
        self.card_long = min(max(long, 60.0), max(60.0, self.width * 0.95))
        self.card_high = self.card_long * CARD_HIGH / CARD_LONG

    def confirm(self) -> None:
        """The card on the glass is as large as the one drawn."""
        self.dispatch("on_measured", LOOK.ruler.calibrated(self.card_long).factor)
