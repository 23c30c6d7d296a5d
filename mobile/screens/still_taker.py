"""Takes the still that the next start shows (see mobile/still.py), as soon as nobody has touched the page for a while."""

import threading
from functools import partial
from typing import Any, Final

from kivy.base import EventLoop
from kivy.clock import Clock, mainthread

from mobile.screens.dive import Dive
from mobile.screens.shell import Shell
from mobile.still import StillShelf, pack
from mobile.widgets.window import read_window
from shared_schema.errors import StorageError

__all__ = ["StillTaker"]

_LOOK_S: Final = 0.5
_QUIET_S: Final = 1.0
_FRAMES: Final = 3  # what follows from a change is drawn with it, or right after


class StillTaker:
    """Looks twice a second whether the still on the shelf is of how things are, and takes another where it is not.

    A start finds nothing selected, in hand or carried: the page is drawn so in a few frames that are read and never shown.
    Where the disk does not take a still, it has `given_up`: the next start is slower, and nothing else.
    """

    def __init__(self, shell: Shell, dive: Dive, shelf: StillShelf) -> None:
        self._shell, self._dive, self._shelf = shell, dive, shelf
        self._window = EventLoop.window
        self.given_up = False
        self._left = 0
        self._touched, self._moment = 0.0, (0, 0)
        self._packing: threading.Thread | None = None
        self._looking = Clock.schedule_interval(self.look, _LOOK_S)

    def close(self) -> None:
        """Take none any more."""
        self._looking.cancel()
        self._window.unbind(on_flip=self._drawn)
        packing, self._packing = self._packing, None
        if packing is not None:
            packing.join()

    def look(self, *_when: object) -> None:
        """Take one, where it is time."""
        try:
            if not self._left and self._packing is None and self._at_rest and not self._shelf.has(*self._size):
                self._begin()
        except StorageError:
            self._give_up()

    def _give_up(self) -> None:
        self.given_up = True
        self._looking.cancel()

    @property
    def _size(self) -> tuple[int, int]:
        width, height = self._window.size
        return round(width), round(height)

    @property
    def _at_rest(self) -> bool:
        """Whether the page that a start would show is on the screen, whole, and nobody is about to tap."""
        shell, page = self._shell, self._dive.page
        quiet = shell.clock() - shell.touched >= _QUIET_S and not shell.held and not shell.layers
        return quiet and shell.screens.current == page.name and page.desk is not None and page.parts == 1 and page.settled

    def _begin(self) -> None:
        page = self._dive.page
        self._touched, self._moment, self._left = self._shell.touched, self._shelf.moment, _FRAMES
        with page.desk.as_started():
            page.show()
        self._window.bind(on_flip=self._drawn)
        self._window.canvas.ask_update()

    def _drawn(self, window: Any) -> bool:
        """A frame was drawn; it is not shown."""
        self._left -= 1
        undisturbed = self._shell.touched == self._touched
        if undisturbed and not self._left:
            self._pack(read_window(window))
        if not undisturbed or not self._left:
            self._left = 0
            window.unbind(on_flip=self._drawn)
            if self._dive.page.desk is not None:
                self._dive.page.show()
        window.canvas.ask_update()
        return True

    def _pack(self, pixels: bytes) -> None:
        """In a thread: it takes longer than a frame."""
        keep = mainthread(partial(self._keep, self._size, self._moment))
        self._packing = threading.Thread(target=lambda: keep(pack(pixels)), name="still", daemon=True)
        self._packing.start()

    def _keep(self, size: tuple[int, int], moment: tuple[int, int], packed: bytes) -> None:
        if self._packing is not None:  # it was not closed meanwhile
            self._packing = None
            try:
                self._shelf.keep(*size, packed, moment)
            except StorageError:
                self._give_up()
