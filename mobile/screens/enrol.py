"""The first screen of a tablet: where its server is, and the code that lets it in."""

from typing import Any, Final

from kivy.properties import BooleanProperty, ObjectProperty, StringProperty

from mobile.errands import Ended, Errand, Errands
from mobile.identity import Identity
from mobile.invitation import read_invitation, spaced_code
from mobile.screens.asking import Asking
from mobile.screens.live import LiveScreen
from mobile.screens.troubles import trouble_text
from mobile.widgets.keyboard import CodePad, TextPad
from mobile.widgets.look import LOOK
from shared_schema.errors import NotAllowed, SchemaError

__all__ = ["EnrolScreen"]

_TRIES: Final = 2


class EnrolScreen(LiveScreen):
    """Collects `url`, `code` and the tablet's `called`, and lets the tablet in by an errand of `errands`.

    `next` says the one next thing to do, `trouble` what went wrong. Events: `on_enrolled`, and `on_settings`.
    """

    url = StringProperty("")
    code = StringProperty("")
    code_shown = StringProperty("")
    called = StringProperty("")
    next = StringProperty("")
    trouble = StringProperty("")
    busy = BooleanProperty(False)
    ready = BooleanProperty(False)
    errands: Errands = ObjectProperty(None)
    asking: Asking = ObjectProperty(None)

    def __init__(self, **kwargs: Any) -> None:
        for event in ("on_enrolled", "on_settings"):
            self.register_event_type(event)
        super().__init__(**kwargs)
        for name in ("url", "code", "called", "busy"):
            self.fbind(name, self.refresh)
        self.refresh()

    def on_enrolled(self) -> None:
        """The default: nothing."""

    def on_settings(self) -> None:
        """The default: nothing."""

    def refresh(self, *_changed: object) -> None:
        """Say what comes next."""
        _ = LOOK.words.text
        self.code_shown = spaced_code(self.code)
        self.ready = bool(self.url and self.code and self.called) and not self.busy
        self.next = (
            _("Asking the server …")
            if self.busy
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
            found = read_invitation(text)
        except SchemaError:
            self.trouble = _("This is no address. Write it as the supervisor gave it, as http://192.168.1.5:8000")
        else:
            self.url, self.code = found.url, found.code or self.code
