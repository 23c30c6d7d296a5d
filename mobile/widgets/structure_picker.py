"""A list of structures to pick from, each with the signs of how far its pages are."""

from collections.abc import Callable
from typing import Any

from kivy.clock import Clock
from kivy.graphics import InstructionGroup
from kivy.properties import ListProperty, ObjectProperty

from mobile.ink import Ink
from mobile.overview import PageMark
from mobile.ruler import TEXT_LEAST
from mobile.structure_list import StructureRow
from mobile.widgets.corner_art import draw_corner, write_corner
from mobile.widgets.list_picker import Choice, ListPicker, PickRow
from mobile.widgets.look import LOOK
from mobile.widgets.map_art import draw_state
from mobile.widgets.mesh import InkMesh, ink_context, write_text

__all__ = ["StructureLine", "StructurePicker"]

_SIGN_MM = 10.0
_MOST = 9  # more signs than this do not fit a row: it says how many pages are done


class StructureLine(PickRow):
    """One structure: its name, and a sign with its number for each of `marks` (PageMark)."""

    marks = ListProperty()

    def __init__(self, **kwargs: Any) -> None:
        super().__init__(**kwargs)
        self._draw_soon = Clock.create_trigger(self.draw, -1)
        context = ink_context()
        self.canvas.after.add(context)
        self._mesh = InkMesh(context)
        self._numbers = InstructionGroup()
        self.canvas.after.add(self._numbers)
        for name in ("pos", "size", "marks", "color"):
            self.fbind(name, self._later)
        self._later()

    def _later(self, *_changed: object) -> None:
        self._draw_soon()

    def draw(self, *_when: object) -> None:
        """The signs, at the right."""
        px, ink, marks = LOOK.ruler.px, Ink(), list(self.marks)
        self._numbers.clear()
        for place, mark in enumerate(marks):
            self._sign(ink, mark, self.right - px(4) - px(_SIGN_MM) * (len(marks) - place - 0.5))
        self._mesh.show(ink)

    def _sign(self, ink: Ink, mark: PageMark, x: float) -> None:
        px = LOOK.ruler.px
        draw_state(ink, mark.state, x, self.y + self.height * 0.36, px(3.2))
        if mark.open:
            draw_corner(ink, x - px(5), self.y, px(10), self.height)
            write_corner(self._numbers, x - px(5), self.y, px(10), self.height)
        least = LOOK.ruler.text(TEXT_LEAST)
        write_text(self._numbers, mark.path, x, self.y + self.height * 0.78, least, LOOK.theme.text, bold=False)


class StructurePicker(ListPicker):
    """`look_up` gives the StructureRow of an id: it is asked for those on the screen alone."""

    look_up: Callable[[str], StructureRow] = ObjectProperty(None)

    def fill(self, *when: object) -> None:
        """Only while it is on the screen: how far a structure is has to be read."""
        if self.get_root_window() is not None:
            super().fill(*when)

    def row_of(self, choice: Choice) -> PickRow:
        """A structure's row, with how far it is."""
        row = self.look_up(choice.key)
        line = StructureLine(key=choice.key, text=_title(row), detail=_said(row), name=f"pick:{choice.key}")
        line.role = "chosen" if choice.key in self.chosen else "plain"
        line.marks, line.off = row.marks if len(row.marks) <= _MOST else (), not row.ready
        return line


def _said(row: StructureRow) -> str:
    """What is said instead of signs."""
    _, count = LOOK.words.text, LOOK.words.count
    if not row.ready:
        return _("no design is known")
    if len(row.marks) <= _MOST:
        return ""
    questions = count("{n} question", "{n} questions", row.asking) if row.asking else ""
    return "  ".join(part for part in (f"{row.finished}/{len(row.marks)}", questions) if part)


def _title(row: StructureRow) -> str:
    return row.structure if row.name == row.structure else f"{row.structure}  {row.name}"
