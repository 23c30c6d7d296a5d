"""What went wrong while a dive is entered, in the crew's language."""

from mobile.screens.troubles import trouble_text
from mobile.widgets.look import LOOK
from shared_schema.errors import CrosstreeError, LimitExceeded, NothingSuch, SchemaError

__all__ = ["dive_trouble_text"]


def dive_trouble_text(error: CrosstreeError) -> str:
    """What an error means here and what to do, translated."""
    _ = LOOK.words.text
    if isinstance(error, NothingSuch):
        return _("It is not clear which coral is meant. Tap its place again.")
    if isinstance(error, LimitExceeded):
        return _("This picture is too large. Take a smaller one.")
    if isinstance(error, SchemaError):
        return _("This cannot be kept. Enter it in another way, or choose another picture.")
    return trouble_text(error)
