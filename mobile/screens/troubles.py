"""What went wrong, in the crew's language: each text says the one thing to do next."""

from typing import Final

from mobile.widgets.look import LOOK
from shared_schema.errors import (
    CrosstreeError,
    HashMismatch,
    IdentityClash,
    NotAllowed,
    NothingSuch,
    ProtocolRefused,
    SpentCode,
    StorageError,
    TooManyTries,
    Unreachable,
    WireError,
)

__all__ = ["trouble_text"]


def _(text: str) -> str:
    """Marks a text for the catalogues; it is translated where it is shown."""
    return text


_TEXTS: Final[tuple[tuple[type[CrosstreeError], str], ...]] = (
    (Unreachable, _("The server did not answer. Go where there is a signal, then try again.")),
    (SpentCode, _("This code was used already, or is too old. Ask the supervisor for another.")),
    (TooManyTries, _("Too many wrong codes. Wait a minute, then try again.")),
    (NotAllowed, _("The server does not let this tablet in. Ask the supervisor for a code.")),
    (ProtocolRefused, _("The tablet's program and the server's are too far apart. Ask the office which one to update.")),
    (HashMismatch, _("What came was damaged and was thrown away. Load again.")),
    (WireError, _("No server of your nursery answered there. Check the address and the network.")),
    (NothingSuch, _("The server does not have this any more. Choose again.")),
    (IdentityClash, _("The record of this tablet has a twin. Tell the office; nothing is lost.")),
    (StorageError, _("The disk is full or failed. Make room, then try again; what was recorded is safe.")),
)
_OTHER: Final = _("Something went wrong. Tell the office; what was recorded is safe.")


def trouble_text(error: CrosstreeError) -> str:
    """What an error means and what to do, translated: the first kind in the list that it is one of."""
    words = LOOK.words.text
    return next((words(text) for kind, text in _TEXTS if isinstance(error, kind)), words(_OTHER))
