"""The first screen of a tablet: where its server is, and the code that lets it in."""

from typing import Any, Final

from kivy.properties import BooleanProperty, ObjectProperty, StringProperty

from mobile.errands import Ended, Errand, Errands
from mobile.identity import Identity
from mobile.invitation import Invitation, read_invitation, spaced_code
from mobile.screens.asking import Asking
from mobile.screens.live import LiveScreen
from mobile.screens.troubles import trouble_text
from mobile.widgets.camera import CameraSource, Lack
from mobile.widgets.keyboard import CodePad, TextPad
from mobile.widgets.look import LOOK
from shared_schema.errors import NotAllowed, SchemaError

__all__ = ["EnrolScreen"]

_TRIES: Final = 2


class EnrolScreen(LiveScreen):
    """Collects `url`, `code` and the tablet's `called`, and lets the tablet in by an errand of `errands`.

    `next` says the one next thing to do, `trouble` what went wrong. `can_scan` says whether the office's picture can be scanned
    by the camera of `source`, `no_scan` why not. Events: `on_enrolled`, `on_scan`, and `on_settings`.
    """

    url = StringProperty("")
    code = StringProperty("")
    code_shown = StringProperty("")
    called = StringProperty("")
    next = StringProperty("")
    trouble = StringProperty("")
    busy = BooleanProperty(False)
    ready = BooleanProperty(False)
    can_scan = BooleanProperty(False)
    no_scan = StringProperty("")
    source: CameraSource = ObjectProperty(None)
    errands: Errands = ObjectProperty(None)
    asking: Asking = ObjectProperty(None)

    def __init__(self, **kwargs: Any) -> None:
        for event in ("on_enrolled", "on_scan", "on_settings"):
            self.register_event_type(event)
        self._lacks: Lack = "camera"
        super().__init__(**kwargs)
        for name in ("url", "code", "called", "busy"):
            self.fbind(name, self.refresh)
        self.refresh()

    def on_enrolled(self) -> None:
        """The default: nothing."""

    def on_scan(self) -> None:
        """The default: nothing."""

    def on_settings(self) -> None:
        """The default: nothing."""

    def on_pre_enter(self, *_args: object) -> None:
        """Look for a camera; not before, for a tablet that is let in needs none."""
        self.look_for_camera()

    def on_source(self, *_changed: object) -> None:
        """Another one, while this is shown."""
        if self.get_root_window() is not None:
            self.look_for_camera()

    def look_for_camera(self) -> None:
        """See what is there for scanning."""
        self._lacks = self.source.lacks()
        self.refresh()

    def take(self, invitation: Invitation) -> None:
        """What a picture said."""
        self.trouble, self.url, self.code = "", invitation.url, invitation.code or self.code

    def refresh(self, *_changed: object) -> None:
        """Say what comes next."""
        _ = LOOK.words.text
        self.code_shown = spaced_code(self.code)
        self.can_scan = not self._lacks
        self.no_scan = {
            "": "",
            "camera": _("Nothing here lets this program use a camera: type address and code."),
            "decoder": _("What reads pictures (zxing-cpp) is not installed: type address and code."),
        }[self._lacks]
        self.ready = bool(self.url and self.code and self.called) and not self.busy
        self.next = (
            _("Asking the server …")
            if self.busy
            else _("First: scan the office's picture, or type the address of the server.")
            if not self.url and self.can_scan
            else _("First: type the address of the server. The supervisor has it.")
            if not self.url
            else _("Next: type the code that the supervisor gave you.")
            if not self.code
            else _("Next: give this tablet a name, so that the office knows it.")
            if not self.called
            else _("Now let the tablet in.")
        )

    def ask_url(self) -> None:
        """Type the address; a whole invitation is taken too."""
        _ = LOOK.words.text
        pad = TextPad(text=self.url or "http://", most=200)
        self.asking.ask(_("Address of the server, or the whole text of the office's picture"), pad, self._read_address)

    def ask_code(self) -> None:
        """Type the code."""
        _ = LOOK.words.text
        pad = CodePad(text=self.code)
        pad.bind(on_whole=lambda _pad, text: self.asking.answer(lambda: self._read_address(text)))
        self.asking.ask(_("Code for this tablet"), pad, self._read_code)

    def ask_name(self) -> None:
        """Type a name."""
        _ = LOOK.words.text
        self.asking.ask(_("Name of this tablet"), TextPad(text=self.called, most=40), self._name)

    def enrol(self) -> None:
        """Spend the code."""
        url, code, called = self.url, self.code, self.called
        self.trouble = ""

        def work(errand: Errand) -> Identity:
            return errand.sync(_TRIES).enrol(url, code, called)

        self.busy = self.errands.start(work, self._ended)

    def _ended(self, end: Ended[Identity]) -> None:
        _ = LOOK.words.text
        self.busy = False
        if end.trouble is not None:
            unknown = type(end.trouble) is NotAllowed
            self.trouble = (
                _("The server does not know this code. Compare it, or ask for another.") if unknown else trouble_text(end.trouble)
            )
        elif end.result is not None:
            self.code = ""
            self.dispatch("on_enrolled")

    def _name(self, text: str) -> None:
        self.called = text

    def _read_code(self, text: str) -> None:
        self.trouble, self.code = "", text

    def _read_address(self, text: str) -> None:
        _ = LOOK.words.text
        self.trouble = ""
        try:
            self.take(read_invitation(text))
        except SchemaError:
            self.trouble = _("This is no address. Write it as the supervisor gave it, as http://192.168.1.5:8000")
