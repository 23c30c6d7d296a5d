"""Words that are ready to be tapped: reasons and notes. They are kept in English and shown in the reader's language.

A record that crews of several languages read is then the same for all of them; what somebody types stays as it was typed.
"""

from typing import Final

from shared_schema.sayings import mark

__all__ = ["EXPLANATIONS", "NOTES", "NOT_REACHED", "PAGE_NOTES", "READY"]


NOT_REACHED: Final = (
    mark("No time"),
    mark("Strong current"),
    mark("Bad visibility"),
    mark("Structure damaged"),
    mark("Structure not found"),
    mark("Not planned for this dive"),
)
"""Why nobody looked at a page or a structure."""

EXPLANATIONS: Final = (
    mark("Looked twice, sure"),
    mark("Found again"),
    mark("New tissue has grown"),
    mark("The last record was wrong"),
    mark("Entered from a slate that was checked"),
    mark("Not sure: look again next time"),
)
"""What may explain something unlikely."""

NOTES: Final = (
    mark("Tag is hard to read"),
    mark("Touches its neighbour"),
    mark("Ready to be cut"),
    mark("Ready for the reef"),
    mark("Look again next time"),
)
"""Notes that are often made of a coral."""

PAGE_NOTES: Final = (
    mark("Lines are tangled"),
    mark("Fouled: clean it soon"),
    mark("Sits too low"),
    mark("An arm is bent"),
    mark("Many fish here"),
    mark("Look again next time"),
)
"""Notes that are often made of a page or a structure."""

READY: Final = frozenset((*NOT_REACHED, *EXPLANATIONS, *NOTES, *PAGE_NOTES))
"""All of them: a text of the record that is one of these is translated where it is shown."""
