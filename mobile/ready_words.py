"""Words that are ready to be tapped: reasons and notes. They are kept in English and shown in the reader's language.

A record that crews of several languages read is then the same for all of them; what somebody types stays as it was typed.
"""

from typing import Final

__all__ = ["EXPLANATIONS", "NOTES", "NOT_REACHED", "PAGE_NOTES", "READY"]


def _(text: str) -> str:
    """Marks a text for the catalogues; it is translated where it is shown."""
    return text


NOT_REACHED: Final = (
    _("No time"),
    _("Strong current"),
    _("Bad visibility"),
    _("Structure damaged"),
    _("Structure not found"),
    _("Not planned for this dive"),
)
"""Why nobody looked at a page or a structure."""

EXPLANATIONS: Final = (
    _("Looked twice, sure"),
    _("Found again"),
    _("New tissue has grown"),
    _("The last record was wrong"),
    _("Entered from a slate that was checked"),
    _("Not sure: look again next time"),
)
"""What may explain something unlikely."""

NOTES: Final = (
    _("Tag is hard to read"),
    _("Touches its neighbour"),
    _("Ready to be cut"),
    _("Ready for the reef"),
    _("Look again next time"),
)
"""Notes that are often made of a coral."""

PAGE_NOTES: Final = (
    _("Lines are tangled"),
    _("Fouled: clean it soon"),
    _("Sits too low"),
    _("An arm is bent"),
    _("Many fish here"),
    _("Look again next time"),
)
"""Notes that are often made of a page or a structure."""

READY: Final = frozenset((*NOT_REACHED, *EXPLANATIONS, *NOTES, *PAGE_NOTES))
"""All of them: a text of the record that is one of these is translated where it is shown."""
