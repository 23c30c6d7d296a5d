"""A practice slate as a diver handed it up: pencil on plastic."""

from dataclasses import dataclass, replace
from typing import Any, Final

from kivy.clock import Clock
from kivy.graphics import InstructionGroup, PopMatrix, PushMatrix, Rotate
from kivy.properties import ListProperty, ObjectProperty, StringProperty
from kivy.uix.widget import Widget

from mobile.desk import UNSEEN
from mobile.ink import Ink
from mobile.palette import CONDITIONS
from mobile.ruler import TEXT_LEAST
from mobile.shapes import Point
from mobile.slate_sheet import Field, SlateSheet, lay_out_slate
from mobile.training import Slate, Written
from mobile.widgets.look import LOOK
from mobile.widgets.mesh import InkMesh, ink_context, write_text

__all__ = ["SlatePicture"]

_TILTS: Final = (-7, 4, -2, 8, -5, 3, 6)  # degrees, by place: nobody writes straight under water
_TICK: Final = ((-0.26, 0.02), (-0.08, -0.2), (0.3, 0.26))
_BLOTS: Final = ((-0.28, 0.1, 0.34), (0.1, -0.12, 0.4), (0.34, 0.16, 0.28), (-0.05, 0.22, 0.3))


class SlatePicture(Widget):
    """Shows `slate` (mobile.training.Slate). Places in `wrong` have a frame, that in `chosen` a stronger one."""

    slate = ObjectProperty(None, allownone=True)
    wrong = ListProperty()
    chosen = StringProperty("")

    def __init__(self, **kwargs: Any) -> None:
        self._draw_soon = Clock.create_trigger(self.draw, -1)
        super().__init__(**kwargs)
        for name in ("pos", "size", "slate", "wrong", "chosen"):
            self.fbind(name, self._later)
        LOOK.follow(self._later, "theme", "ruler", "words")

    def _later(self, *_changed: object) -> None:
        self._draw_soon()

    def draw(self, *_when: object) -> None:
        """Draw all of it."""
        self.canvas.clear()
        slate: Slate | None = self.slate
        if slate is None or min(self.size) < 1:
            return
        px = LOOK.ruler.px
        inset, line = px(1.5), LOOK.ruler.text(TEXT_LEAST) * 1.25
        sheet = lay_out_slate(slate, self.width - 2 * inset, self.height - 2 * inset, line)
        x, y = self.x + inset, self.y + inset
        under, over, texts = Ink(), Ink(), InstructionGroup()
        under.slab(self.x, self.y, self.width, self.height, LOOK.theme.surface, LOOK.theme.line, px(0.5))
        self._write_frame(texts, slate, sheet, x, y)
        for field in sheet.fields:
            self._draw_field(under, over, texts, sheet, field, x + field.x, y + field.y)
        for ink, group in ((under, texts), (over, None)):
            context = ink_context()
            InkMesh(context).show(ink)
            self.canvas.add(context)
            if group is not None:
                self.canvas.add(group)

    def _write_frame(self, texts: InstructionGroup, slate: Slate, sheet: SlateSheet, x: float, y: float) -> None:
        """What is printed above, and what the diver wrote in the margin below."""
        theme, least = LOOK.theme, LOOK.ruler.text(TEXT_LEAST)
        middle, high = x + self.width / 2 - LOOK.ruler.px(1.5), self.top - LOOK.ruler.px(1.5)
        _ = LOOK.words.text
        kind = {"level": _("Level"), "stretch": _("Stretch"), "row": _("Row")}[slate.page.kind]
        write_text(texts, f"{slate.structure}  {kind} {slate.page.path}", middle, high - sheet.line * 0.5, least, theme.text)
        margin = "   ".join(f"{place} = {LOOK.letter(CONDITIONS[status])}" for place, status in slate.margin)
        if margin:
            with_tilt = _tilted(texts, middle, y + sheet.line * 0.5, 1.5)
            write_text(with_tilt, margin, middle, y + sheet.line * 0.5, least * 1.1, theme.text)

    def _draw_field(
        self, under: Ink, over: Ink, texts: InstructionGroup, sheet: SlateSheet, field: Field, x: float, y: float
    ) -> None:
        """A box with its printed number and what is written in it."""
        theme, px, least = LOOK.theme, LOOK.ruler.px, LOOK.ruler.text(TEXT_LEAST)
        gap = px(0.35)
        box = (x + gap, y + gap, sheet.width - 2 * gap, sheet.height - 2 * gap)
        under.slab(*box, theme.ground, theme.line, px(0.2))
        if field.path in self.wrong:
            over.slab_edge(*box, px(1.5 if field.path == self.chosen else 0.7), theme.stop)
        if field.group:
            write_text(texts, str(field.group), x - sheet.head * 0.5, y + sheet.height / 2, least, theme.text)
        write_text(
            texts, str(field.number), x + gap + least * 0.6, y + sheet.height - gap - least * 0.6, least, theme.muted, bold=False
        )
        room = sheet.height - gap - least * 1.1
        centre_x, centre_y, size = x + sheet.width / 2, y + room / 2, min(sheet.width, room)
        if field.path in self.slate.bare:
            over.line([(centre_x - size * 0.2, centre_y), (centre_x + size * 0.2, centre_y)], px(0.5), theme.line)
            return
        _write_mark(over, texts, self.slate.at(field.path), _Place(centre_x, centre_y, size, sheet.width, room, _tilt(field)))


@dataclass(frozen=True, slots=True)
class _Place:
    """Where a mark is written: its middle, the size of a square round it, the size of the box, and how far it leans."""

    x: float
    y: float
    size: float
    wide: float
    high: float
    tilt: float

    def halves(self) -> tuple["_Place", "_Place"]:
        """Room for two marks: one after the other, or one below the other where that leaves more."""
        if self.wide >= self.high:
            size, dx, dy = min(self.size, self.wide * 0.55), self.wide * 0.24, 0.0
        else:
            size, dx, dy = min(self.size, self.high * 0.55), 0.0, -self.high * 0.25
        return replace(self, x=self.x - dx, y=self.y - dy, size=size), replace(self, x=self.x + dx, y=self.y + dy, size=size)


def _write_mark(over: Ink, texts: InstructionGroup, mark: Written, at: _Place) -> None:
    pencil, thick = LOOK.theme.text, max(2.0, at.size * 0.07)
    if mark.crossed:
        first, at = at.halves()
        _letter(texts, mark.crossed, first)
        reach = first.size * 0.36
        for up in (-0.8, 0.7):
            ends = ((first.x - reach, first.y + reach * up), (first.x + reach, first.y - reach * up))
            over.line(ends, max(1.5, thick * 0.8), pencil)
    strokes = _strokes(mark, at)
    for stroke in strokes:
        over.line([(at.x + dx * at.size, at.y + dy * at.size) for dx, dy in stroke], thick, pencil)
    if strokes or mark.status == UNSEEN:
        return
    _letter(texts, mark.status, at)
    if mark.hand == "smudged":
        _letter(texts, "preyed_on", at)
        for dx, dy, radius in _BLOTS:
            over.disc(at.x + dx * at.size * 0.8, at.y + dy * at.size, radius * at.size * 0.8, (*LOOK.theme.muted[:3], 0.5))


def _strokes(mark: Written, at: _Place) -> tuple[tuple[Point, ...], ...]:
    """What is drawn and not a letter, as lines round (0, 0) in sizes of the place."""
    if mark.hand == "line":
        half = at.wide * 0.5 / at.size
        return (((-half, 0.0), (half * 0.84, -0.04)),)
    if mark.hand == "ditto":
        return tuple(((side + 0.03, 0.16), (side - 0.03, -0.12)) for side in (-0.12, 0.12))
    return (_TICK,) if mark.status == "alive" else ()


def _letter(texts: InstructionGroup, status: str, at: _Place) -> None:
    letter = LOOK.letter(CONDITIONS[status])
    write_text(_tilted(texts, at.x, at.y, at.tilt), letter, at.x, at.y, at.size * 0.66, LOOK.theme.text, bold=False)


def _tilted(texts: InstructionGroup, x: float, y: float, tilt: float) -> InstructionGroup:
    """A group in `texts` whose content leans."""
    inner = InstructionGroup()
    for instruction in (PushMatrix(), Rotate(angle=tilt, origin=(x, y)), inner, PopMatrix()):
        texts.add(instruction)
    return inner


def _tilt(field: Field) -> float:
    return _TILTS[(field.number * 3 + len(field.path) + field.group) % len(_TILTS)]
