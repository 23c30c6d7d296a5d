"""Asks for one thing at a time, on a sheet over the screen."""

from collections.abc import Callable
from typing import Any

from kivy.uix.anchorlayout import AnchorLayout

from mobile.screens.shell import Shell
from mobile.widgets.keyboard import KeyPad
from mobile.widgets.list_picker import Choice, ListPicker
from mobile.widgets.look import LOOK
from mobile.widgets.number_pad import NumberPad
from mobile.widgets.sheet import Sheet

__all__ = ["Asking"]


class Asking:
    """Lays what asks over the screens of a shell, takes the answer, and lifts it again. `Back` answers nothing."""

    def __init__(self, shell: Shell) -> None:
        self._shell = shell
        self._sheet: Sheet | None = None

    def ask(self, title: str, pad: KeyPad | NumberPad, then: Callable[[str], None]) -> None:
        """Ask for words, a code or a number."""
        pad.bind(on_done=lambda _pad, text: self.answer(lambda: then(text)))
        body = pad
        if isinstance(pad, NumberPad):
            body = AnchorLayout()
            body.add_widget(pad)
        self.show(title, body)

    def choose(self, title: str, choices: list[Choice], then: Callable[[str], None], *, chosen: str = "", empty: str = "") -> None:
        """Ask for one of several; `empty` says what to do where there is none."""
        picker = ListPicker(choices=choices, chosen=[chosen] if chosen else [], empty=empty)
        picker.bind(on_pick=lambda _picker, key: self.answer(lambda: then(key)))
        self.show(title, picker)

    def show(self, title: str, body: Any, closes: str = "", closed: Callable[[], None] | None = None) -> None:
        """Lay anything over the screen, with a button that puts it away; `closed` is called when that was tapped."""
        self.close()
        sheet = Sheet(title=title, closes=closes or LOOK.words.text("Back"), close_role="plain")
        sheet.add_widget(body)
        sheet.bind(on_close=lambda *_: self.answer(closed or _nothing))
        self._sheet = sheet
        self._shell.lay_over(sheet)

    def answer(self, call: Callable[[], None]) -> None:
        """Put the sheet away, then go on: what comes next may lay another one over."""
        self.close()
        call()

    def close(self) -> None:
        """Put the sheet away, if there is one."""
        if self._sheet is not None:
            self._shell.lift(self._sheet)
            self._sheet = None


def _nothing() -> None:
    """Go on with nothing."""
