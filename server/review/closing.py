"""Signing a survey off: the supervisor says what is still open; what arrives later is kept, and shown as late.

What is late is told by the entries that the office held when it signed, not by a clock.
"""

from dataclasses import dataclass
from datetime import UTC, datetime
from typing import Final, NamedTuple

from sqlalchemy import ColumnElement, and_, func, or_, select
from sqlmodel import col

from server.review.entries import entries_named
from server.review.explaining import count_doubts
from server.review.questions import list_questions, read_questions
from server.review.remembering import Shelf, remembered
from server.review.surveys import Overview, look_over_survey
from server.store.engine import reading
from server.store.models import EntryRow, WriterRow
from server.store.record import RecordStore
from shared_schema.entries import EntryWithdrawn, NoteMade, SurveySignedOff, read_entry
from shared_schema.envelope import BaseEntry
from shared_schema.errors import NotAllowed, NothingSuch, RecordError

__all__ = [
    "Closing",
    "Late",
    "StillOpen",
    "close_survey",
    "count_late",
    "list_kept",
    "list_late",
    "look_over_closing",
    "open_again",
    "read_closing",
]

_LATE: Final = Shelf("late")


@dataclass(frozen=True, slots=True)
class Closing:
    """A survey's sign-off. `entry` says by whom, with which statement, and what was open then.

    `kept` are the reasons for which some of the questions had been kept open then, a note for each; None where the
    sign-off is from before these were told apart.
    """

    entry: SurveySignedOff
    received: datetime
    kept: tuple[NoteMade, ...] | None


@dataclass(frozen=True, slots=True)
class Late:
    """An entry of the survey that came after it was signed off."""

    entry: BaseEntry | None
    id: str
    via: str
    received: datetime


def read_closing(store: RecordStore, survey: str) -> Closing | None:
    """The sign-off that holds, None where the survey is open."""
    slot = store.finding(survey, f"survey:{survey}").slots.get("sign_off")
    if slot is None:
        return None
    held = {one.id: one for one in store.entries_of(survey, f"survey:{survey}")}
    last = max((held[name] for name in slot.heads), key=lambda one: one.received_ms)
    if not isinstance(last.entry, SurveySignedOff):
        raise NothingSuch("survey %(survey)r has a sign-off that cannot be read: %(entry)s", survey=survey, entry=last.id)
    return Closing(last.entry, _moment(last.received_ms), _notes(store, last.entry.kept_open))


def _notes(store: RecordStore, names: tuple[str, ...] | None) -> tuple[NoteMade, ...] | None:
    if names is None:
        return None
    with reading(store.engine) as connection:
        found = entries_named(connection, store.nursery, names)
    return tuple(note for name in names if isinstance(note := found.get(name), NoteMade))


def list_kept(store: RecordStore, survey: str) -> tuple[NoteMade, ...]:
    """The notes by which questions of a survey are kept open now, in reading order of the questions."""
    kept = [key for key in list_questions(store, survey) if key.kept]
    return tuple(one.kept.entry for one in read_questions(store, kept, alone=True) if one.kept is not None)


class StillOpen(NamedTuple):
    """What a sign-off leaves open.

    Questions, corals not looked at, pages that somebody did not reach, pages that nobody signed (those included),
    unlikely entries without a word that it is so, and the ids of the notes by which some of the questions are kept open.
    """

    questions: int
    unseen: int
    not_reached: int
    unsigned: int
    unlikely: int
    kept: tuple[str, ...]

    @property
    def unasked(self) -> int:
        """How many of the questions nobody kept open: they were not looked at as they are now."""
        return max(0, self.questions - len(self.kept))


def look_over_closing(store: RecordStore, survey: str) -> tuple[Overview, StillOpen]:
    """A survey as a whole, and what a sign-off would leave open. Raises NothingSuch for an unknown survey."""
    found = look_over_survey(store, survey, 0, 0)
    sums, progress = found.summary, found.progress
    unsigned = sum(len(one.missing) for one in progress.structures)
    waiting, _ = count_doubts(store, survey)
    kept = tuple(note.id for note in list_kept(store, survey)) if sums.tally.questions else ()
    return found, StillOpen(sums.tally.questions, sums.tally.unseen, sums.not_reached, unsigned, waiting, kept)


def close_survey(store: RecordStore, by: str, survey: str, statement: str, shown: StillOpen) -> Closing:
    """Sign a survey off.

    `shown` is what the signer had in front of them as open. Raises NothingSuch, RecordError where that changed meanwhile or
    the survey is signed off already.
    """
    with store.office(by) as office:
        # The nursery is locked now: nothing can come between the counting and the signing.
        _, still_open = look_over_closing(store, survey)
        if still_open != shown:
            raise RecordError("something came in while you looked: read the counts again, then sign")
        before = read_closing(store, survey)
        if before is not None and not count_late(store, survey, before):
            raise RecordError(
                "survey %(survey)s was signed off already, by %(who)s, and nothing came since", survey=survey, who=before.entry.by
            )
        office.write(
            SurveySignedOff,
            f"survey:{survey}",
            survey,
            statement=statement,
            questions=still_open.questions,
            unseen=still_open.unseen,
            not_reached=still_open.not_reached,
            unsigned=still_open.unsigned,
            unlikely=still_open.unlikely,
            kept_open=still_open.kept,
            heads=store.heads() | {office.writer: office.last + 1},
            replaces=() if before is None else (before.entry.id,),
        )
    found = read_closing(store, survey)
    if found is None:
        raise NothingSuch("the sign-off of survey %(survey)r is not in the record", survey=survey)
    return found


def open_again(store: RecordStore, by: str, survey: str) -> None:
    """Take one's own sign-off back. Raises NothingSuch, NotAllowed for somebody else's."""
    with store.office(by) as office:
        held = read_closing(store, survey)
        if held is None:
            raise NothingSuch("survey %(survey)r is not signed off", survey=survey)
        if held.entry.by != by:
            raise NotAllowed(
                "survey %(survey)s was signed off by %(who)s, and only who signed takes that back", survey=survey, who=held.entry.by
            )
        office.write(EntryWithdrawn, f"survey:{survey}", survey, target=held.entry.id)


def _beyond(store: RecordStore, survey: str, closing: Closing, writers: list[str]) -> ColumnElement[bool]:
    heads = closing.entry.heads
    later = or_(*(and_(col(EntryRow.writer) == name, col(EntryRow.number) > heads.get(name, 0)) for name in writers))
    return and_(col(EntryRow.nursery) == store.nursery, col(EntryRow.survey) == survey, later)


def _writers(store: RecordStore, closing: Closing) -> list[str]:
    """Those who have entries beyond the sign-off."""
    heads = closing.entry.heads
    with reading(store.engine) as connection:
        rows = connection.execute(select(col(WriterRow.writer), col(WriterRow.head)).where(col(WriterRow.nursery) == store.nursery))
        return [writer for writer, head in rows if head > heads.get(writer, 0)]


def count_late(store: RecordStore, survey: str, closing: Closing) -> int:
    """How many entries of the survey came after the sign-off."""

    def count() -> int:
        writers = _writers(store, closing)
        if not writers:
            return 0
        beyond = select(func.count()).select_from(EntryRow).where(_beyond(store, survey, closing, writers))
        return int(connection.execute(beyond).scalar_one())

    with reading(store.engine) as connection:
        return remembered(connection, store.nursery, _LATE, survey, count, until=survey, beside=closing.entry.id)


def list_late(store: RecordStore, survey: str, closing: Closing, first: int, limit: int) -> list[Late]:
    """These entries, in the order in which they came, from `first` (counted from 0)."""
    writers = _writers(store, closing)
    if not writers:
        return []
    columns = (EntryRow.writer, EntryRow.number, EntryRow.raw, EntryRow.via, EntryRow.received)
    with reading(store.engine) as connection:
        rows = connection.execute(
            select(*(col(one) for one in columns), col(EntryRow.set_aside))
            .where(_beyond(store, survey, closing, writers))
            .order_by(col(EntryRow.received), col(EntryRow.writer), col(EntryRow.number))
            .offset(first)
            .limit(limit)
        ).all()
    return [
        Late(None if row.set_aside else read_entry(row.raw), f"{row.writer}-{row.number}", row.via, _moment(row.received))
        for row in rows
    ]


def _moment(milliseconds: int) -> datetime:
    return datetime.fromtimestamp(milliseconds / 1000, UTC)
