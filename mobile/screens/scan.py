"""Looks through the camera for the office's picture, which holds the server's address and a code."""

import time
from collections.abc import Callable
from typing import Any, Final

from kivy.clock import Clock
from kivy.properties import BooleanProperty, ObjectProperty, StringProperty

from mobile.invitation import Invitation
from mobile.scanning import look_at
from mobile.screens.live import LiveScreen
from mobile.widgets.camera import Camera, CameraSource
from mobile.widgets.look import LOOK

__all__ = ["ScanScreen"]

_LOOKS_A_SECOND: Final = 4
_DARK_S: Final = 6.0
_LONG_S: Final = 12.0


class ScanScreen(LiveScreen):
    """Has the camera of `source` while it is shown, and no longer.

    `says` is what to do, `trouble` what went wrong with the camera. `clock` gives seconds that only grow.
    Events: `on_found(invitation)`, `on_type` for who rather types, `on_leave_scan`.
    """

    source: CameraSource = ObjectProperty(None)
    clock: Callable[[], float] = ObjectProperty(time.monotonic)
    says = StringProperty("")
    trouble = StringProperty("")
    opened = BooleanProperty(False)

    def __init__(self, **kwargs: Any) -> None:
        for event in ("on_found", "on_type", "on_leave_scan"):
            self.register_event_type(event)
        self._camera: Camera | None = None
        self._turn, self._since, self._other = 0, 0.0, False
        super().__init__(**kwargs)
        self._looking = Clock.create_trigger(self.look, 1 / _LOOKS_A_SECOND, interval=True)

    def on_found(self, invitation: Invitation) -> None:
        """The default: nothing."""

    def on_type(self) -> None:
        """The default: nothing."""

    def on_leave_scan(self) -> None:
        """The default: nothing."""

    def on_enter(self, *_args: object) -> None:
        """Open the camera."""
        self.begin()

    def on_pre_leave(self, *_args: object) -> None:
        """Give it back."""
        self.end()

    def begin(self) -> None:
        """Ask for the camera, and open it."""
        self.end()
        self.trouble, self._other = "", False
        self.refresh()
        turn = self._turn

        def answered(given: bool) -> None:
            if turn == self._turn:  # nobody went away meanwhile
                self._open(given)

        self.source.ask(answered)

    def end(self) -> None:
        """Give the camera back."""
        self._turn += 1
        self._looking.cancel()
        self.ids.viewfinder.show(None)
        camera, self._camera, self.opened = self._camera, None, False
        if camera is not None:
            self.source.free(camera)

    def look(self, *_when: object) -> None:
        """Look at what the camera sees now."""
        if self._camera is None:
            return
        finder = self.ids.viewfinder
        finder.show(self._camera)
        frame = finder.frame()
        if frame is None:
            if self.clock() - self._since > _DARK_S:
                self.end()
                self.trouble = LOOK.words.text("The camera shows nothing. Try again, or type address and code.")
            return
        sight = look_at(frame)
        if sight.invitation is not None:
            self.end()
            self.dispatch("on_found", sight.invitation)
            return
        self._other = sight.other
        self.refresh()

    def refresh(self, *_changed: object) -> None:
        """Say what to do."""
        _ = LOOK.words.text
        self.says = (
            _("This is another picture. The office's is on its page of the tablets.")
            if self._other
            else _("Nothing found yet. Come closer, hold still, turn it out of the glare; or type it.")
            if self._camera is not None and self.clock() - self._since > _LONG_S
            else _("Hold the tablet so that the whole picture of the office is in sight.")
        )

    def _open(self, given: bool) -> None:
        _ = LOOK.words.text
        if not given:
            self.trouble = _("The camera may not be used. Allow it in the tablet's settings, or type address and code.")
            return
        try:
            self._camera = self.source.open()
        except Exception:  # noqa: BLE001  # each platform's camera fails by an error of its own
            self.trouble = _("The camera does not start. Let other programs go of it and try again, or type address and code.")
            return
        self._since, self.opened = self.clock(), True
        self.refresh()
        self._looking()
