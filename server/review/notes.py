"""Notes from the office: words about a subject, within a survey or for good."""

from server.store.record import RecordStore
from shared_schema.entries import NoteMade
from shared_schema.errors import NothingSuch, SchemaError

__all__ = ["write_note"]

LONGEST = 4000


def write_note(store: RecordStore, by: str, subject: str, survey: str, text: str) -> NoteMade:
    """Write a note about something that the record knows; "" is no survey. Raises SchemaError, NothingSuch."""
    words = text.strip()
    if not words or len(words) > LONGEST:
        raise SchemaError("a note has 1 to %(longest)s characters, and this one has %(count)s", longest=LONGEST, count=len(words))
    if not store.finding(survey, subject).slots:
        raise NothingSuch(
            "nothing is known of %(subject)s in %(survey)s: choose a survey that saw it",
            subject=subject,
            survey=survey or "standing facts",
        )
    with store.office(by) as office:
        return office.write(NoteMade, subject, survey, text=words)
