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
        raise SchemaError(f"a note has 1 to {LONGEST} characters, and this one has {len(words)}")
    if not store.finding(survey, subject).slots:
        raise NothingSuch(f"nothing is known of {subject} in {survey or 'the standing facts'}: choose a survey that saw it")
    with store.office(by) as office:
        return office.write(NoteMade, subject, survey, text=words)
