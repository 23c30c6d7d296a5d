"""A list of large rows to pick from, turned page by page: nothing to swipe."""

import math
from dataclasses import dataclass
from typing import Any

from kivy.clock import Clock
from kivy.properties import BooleanProperty, ListProperty, NumericProperty, ObjectProperty, StringProperty
from kivy.uix.boxlayout import BoxLayout

from mobile.ruler import GAP, POSITION
from mobile.widgets.buttons import BigButton
from mobile.widgets.label import FitLabel
from mobile.widgets.look import LOOK

__all__ = ["Choice", "ListPicker", "PickRow"]


@dataclass(frozen=True, slots=True)
class Choice:
    """A row: what it stands for, what it says, and a few words more."""

    key: str
    text: str
    detail: str = ""


class PickRow(BigButton):
    """One row; `chosen` shows as a tick as well as by its frame."""

    key = StringProperty("")
    detail = StringProperty("")
    chosen = BooleanProperty(False)

    def on_chosen(self, *_changed: object) -> None:
        """Frame it."""
        self.role = "chosen" if self.chosen else "plain"


class ListPicker(BoxLayout):
    """Shows `choices` (Choice); `on_pick(key)` when a row was tapped. `chosen` holds the keys that are ticked.

    `start` is the index of the first row shown; two buttons turn to earlier and later ones. `empty` is said where there is
    nothing to pick: the one next thing to do. `name` tells its buttons apart where a screen has two lists.
    """

    choices = ListProperty()
    chosen = ListProperty()
    start = NumericProperty(0)
    row_mm = NumericProperty(POSITION)
    empty = StringProperty("")
    name = StringProperty("")
    room = NumericProperty(1)
    rows = ObjectProperty(None)

    def __init__(self, **kwargs: Any) -> None:
        self.register_event_type("on_pick")
        self._fill_soon = Clock.create_trigger(self.fill, -1)
        super().__init__(**kwargs)
        for name in ("choices", "chosen", "start", "size", "row_mm"):
            self.fbind(name, self._later)
        LOOK.follow(self._later, "ruler")
        self._later()

    def on_pick(self, key: str) -> None:
        """The default: nothing."""

    def _later(self, *_changed: object) -> None:
        self._fill_soon()

    def turn(self, pages: int) -> None:
        """Show later (or with a negative number, earlier) rows."""
        last = (max(0, len(self.choices) - 1) // self.room) * self.room
        self.start = min(max(0, self.start + pages * self.room), last)

    @property
    def shown(self) -> list[Choice]:
        """The choices on the screen."""
        start = int(self.start) // self.room * self.room
        return list(self.choices[start : start + self.room])

    @property
    def where(self) -> str:
        """`1–5 / 23`."""
        first = self.choices.index(self.shown[0]) + 1 if self.shown else 0
        return f"{first}–{first + len(self.shown) - 1} / {len(self.choices)}"

    def row_of(self, choice: Choice) -> PickRow:
        """The row for a choice."""
        chosen = choice.key in self.chosen
        return PickRow(key=choice.key, text=choice.text, detail=choice.detail, name=f"pick:{choice.key}", chosen=chosen)

    def fill(self, *_when: object) -> None:
        """Show as many rows as there is room for."""
        if self.rows is None:
            return
        px = LOOK.ruler.px
        self.room = max(1, math.floor((self.height + px(GAP)) / px(self.row_mm + GAP) + 1e-6))
        self.rows.clear_widgets()
        for choice in self.shown:
            row = self.row_of(choice)
            row.height = px(self.row_mm)
            row.bind(on_act=self._tell)
            self.rows.add_widget(row)
        if not self.choices:
            self.rows.add_widget(FitLabel(text=self.empty, size_hint_y=None, height=self.height))
        self.ids.where.text = self.where if len(self.choices) > self.room else ""
        self.ids.earlier.off = not self.shown or self.choices.index(self.shown[0]) == 0
        self.ids.later.off = not self.shown or self.shown[-1] == self.choices[-1]
        self.ids.turning.width = px(POSITION) if len(self.choices) > self.room else 0
        self.ids.turning.opacity = 1 if len(self.choices) > self.room else 0

    def _tell(self, row: PickRow) -> None:
        self.dispatch("on_pick", row.key)
