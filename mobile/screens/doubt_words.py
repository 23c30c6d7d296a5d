"""What is unlikely, in the crew's language."""

from collections.abc import Mapping
from typing import Final

from mobile.widgets.look import LOOK
from shared_schema.unlikely import Unlikely, UnlikelySort

__all__ = ["doubt_text"]


def _(text: str) -> str:
    """Marks a text for the catalogues; it is translated where it is shown."""
    return text


_TEXTS: Final[Mapping[UnlikelySort, str]] = {
    "lost_then_living": _("{where}: lost before, living now"),
    "dead_then_living": _("{where}: dead before, living now"),
    "signed_in_seconds": _("{where}: signed off within five seconds"),
    "none_marked": _("{where}: nothing marked, many the last time"),
}


def doubt_text(doubt: Unlikely) -> str:
    """`T07/3.2.4: lost before, living now`."""
    return LOOK.words.text(_TEXTS[doubt.sort]).format(where=doubt.where)
