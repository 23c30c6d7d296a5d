"""The statuses as a row of buttons, each with its shape, its letter and its word."""

import math
from collections.abc import Hashable
from functools import lru_cache
from typing import Any, Final

from kivy.clock import Clock
from kivy.graphics import InstructionGroup
from kivy.properties import BooleanProperty, ListProperty, NumericProperty, StringProperty
from kivy.uix.gridlayout import GridLayout

from mobile.ink import Ink
from mobile.palette import CONDITIONS
from mobile.ruler import STATUS, STATUS_GAP, TEXT_LEAST
from mobile.sign import draw_sign, letter_spot
from mobile.widgets.label import FitLabel
from mobile.widgets.look import LOOK
from mobile.widgets.mesh import InkMesh, ink_context, write_text
from mobile.widgets.plate import Keeping
from mobile.widgets.target import Target

__all__ = ["StatusBar", "StatusButton"]

_SIGN: Final = 0.68  # of a button's height: how high the middle of its sign is
_RADIUS: Final = 0.24
_OUT: Final = 0.8  # mm


class StatusButton(Target, FitLabel):
    """One status: its sign above its word. `chosen` frames it: the status of the place that is selected, or in hand.

    The frame is round its box, by `spread` pixels and `most_spread` at the most: it leaves long words their room.
    """

    status = StringProperty("")
    spread = NumericProperty(0)
    most_spread = NumericProperty(0)
    name = StringProperty("")
    chosen = BooleanProperty(False)
    least_mm = NumericProperty(STATUS)

    def __init__(self, **kwargs: Any) -> None:
        super().__init__(**kwargs)
        self._draw_soon = Clock.create_trigger(self.draw, -1)
        context = ink_context()
        self.canvas.before.add(context)
        self._mesh = InkMesh(context)
        self._letter = InstructionGroup()
        self.canvas.before.add(self._letter)
        for name in ("pos", "size", "pressed", "chosen", "status"):
            self.fbind(name, self._later)
        LOOK.follow(self._later, "theme", "ruler", "words")
        self._later()

    def _later(self, *_changed: object) -> None:
        self._draw_soon()

    def draw(self, *_when: object) -> None:
        """Draw ground, sign and letter, and leave the lower part to the word."""
        condition, px = CONDITIONS[self.status], LOOK.ruler.px
        self.text, self.most = LOOK.words.text(condition.word), 24
        self.padding = [px(0.8), self.height * 0.57, px(0.8), px(0.5)]
        held = self.chosen or self.pressed
        self.most_spread = px(_OUT) + 1
        self.spread = self.most_spread if self.chosen else 0
        face = _face(self.status, self.width, self.height, self.chosen, held, (LOOK.theme, LOOK.ruler))
        self._mesh.show(face, self.x, self.y)
        self._letter.clear()
        spot = letter_spot(condition, self.center_x, self.y + self.height * _SIGN, self.height * _RADIUS)
        em = max(spot.em, LOOK.ruler.text(TEXT_LEAST))
        write_text(self._letter, LOOK.letter(condition), spot.x, spot.y, em, condition.letter_colour)


@lru_cache(maxsize=256)
def _face(status: str, width: float, height: float, chosen: bool, held: bool, _look: Hashable) -> Ink:
    """Ground and sign of a button with its lower left corner at (0, 0)."""
    ink, theme, px = Ink(), LOOK.theme, LOOK.ruler.px
    edge, out = (px(1.0), px(_OUT)) if chosen else (max(1.5, px(0.3)), 0.0)
    fill = theme.pressed if held else theme.surface
    ink.slab(-out, -out, width + 2 * out, height + 2 * out, fill, theme.text if held else theme.line, edge)
    draw_sign(ink, CONDITIONS[status], width / 2, height * _SIGN, height * _RADIUS, theme.outline, max(1.5, px(0.4)))
    return ink


class StatusBar(Keeping, GridLayout):
    """Buttons for `statuses`, in as few rows as their width allows; `on_status(status)` when one was tapped.

    `chosen` is the one that is framed, or empty. `rows_needed` says how many rows the width asks for.
    """

    statuses = ListProperty(list(CONDITIONS))
    chosen = StringProperty("")
    rows_needed = NumericProperty(1)

    def __init__(self, **kwargs: Any) -> None:
        self.register_event_type("on_status")
        super().__init__(**kwargs)
        self._arrange_soon = Clock.create_trigger(self.arrange, -1)
        for name in ("statuses", "width"):
            self.fbind(name, self._later)
        LOOK.follow(self._later, "ruler")
        self._later()

    def on_status(self, status: str) -> None:
        """The default: nothing."""

    def _later(self, *_changed: object) -> None:
        self._arrange_soon()

    def arrange(self, *_when: object) -> None:
        """Make the buttons anew where their statuses changed, and share them out over rows."""
        if [button.status for button in reversed(self.children)] != list(self.statuses):
            self.clear_widgets()
            for status in self.statuses:
                button = StatusButton(status=status, name=f"status:{status}")
                button.bind(on_act=self._tell)
                self.add_widget(button)
            self.on_chosen()
        px = LOOK.ruler.px
        across = max(1, math.floor((self.width + px(STATUS_GAP)) / px(STATUS + STATUS_GAP) + 1e-6))
        self.rows_needed = math.ceil(len(self.statuses) / across)
        self.cols = math.ceil(len(self.statuses) / self.rows_needed)
        self.spacing = LOOK.ruler.px(STATUS_GAP)

    def on_chosen(self, *_changed: object) -> None:
        """Frame the one that is chosen."""
        for button in self.children:
            button.chosen = button.status == self.chosen

    def _tell(self, button: StatusButton) -> None:
        self.dispatch("on_status", button.status)
