"""A supervisor reads what is unlikely in a survey, and says that it is so; what is not so is corrected where it stands."""

from collections.abc import Mapping, Sequence
from typing import Final, NamedTuple

from server.review.remembering import Shelf, remembered
from server.review.unlikely import Doubt, doubts_after, doubts_in, tell_doubts
from server.store.engine import reading
from server.store.record import RecordStore
from shared_schema.entries import EntryWithdrawn, NoteMade
from shared_schema.envelope import BaseEntry
from shared_schema.errors import NotAllowed, NothingSuch, RecordError, SchemaError

__all__ = ["Doubts", "count_doubts", "explain_doubt", "read_doubts", "take_explanation_back"]

LONGEST: Final = 4000

_DOUBTS: Final = Shelf("doubts")


class Doubts(NamedTuple):
    """Some of a survey's unlikely entries, those that wait for a word first; how many wait, and how many there are in all.

    `told` has the entries that they are about and those that explain them, by id.
    """

    some: Sequence[Doubt]
    waiting: int
    total: int
    told: Mapping[str, BaseEntry]


def read_doubts(store: RecordStore, survey: str, first: int, limit: int) -> Doubts:
    """What is unlikely in a survey, from `first` (counted from 0)."""
    with reading(store.engine) as connection:
        found = remembered(
            connection,
            store.nursery,
            _DOUBTS,
            survey,
            lambda: doubts_in(connection, store.nursery, survey),
            mend=lambda held, touched: doubts_after(connection, store.nursery, survey, held, touched),
            until=survey,
        )
        some = found[first : first + limit]
        told = tell_doubts(connection, store.nursery, some)
    return Doubts(some, sum(not one.settled for one in found), len(found), told)


def count_doubts(store: RecordStore, survey: str) -> tuple[int, int]:
    """How many unlikely entries of a survey wait for a word, and how many there are in all."""
    held = read_doubts(store, survey, 0, 0)
    return held.waiting, held.total


def explain_doubt(store: RecordStore, by: str, survey: str, subject: str, about: str, text: str) -> NoteMade:
    """Say that something unlikely is so: a note about the entry that says it.

    Raises SchemaError for no words or too many, RecordError where it is not unlikely any more, or was said anew meanwhile.
    """
    words = text.strip()
    if not words or len(words) > LONGEST:
        raise SchemaError("a note has 1 to %(most)s characters, and this one has %(many)s", most=LONGEST, many=len(words))
    with store.office(by) as office:
        held = read_doubts(store, survey, 0, 1_000_000).some
        if not any(one.subject == subject and about in one.about for one in held):
            raise RecordError("that is not unlikely any more, or it was said anew while you looked: look again")
        return office.write(NoteMade, subject, survey, text=words, about=about)


def take_explanation_back(store: RecordStore, by: str, survey: str, note: str) -> None:
    """Take one's own word back. Raises NothingSuch, NotAllowed for somebody else's."""
    with store.office(by) as office:
        held = read_doubts(store, survey, 0, 1_000_000)
        entry = held.told.get(note)
        if not isinstance(entry, NoteMade):
            raise NothingSuch("there is no word %(note)s that explains something unlikely in %(survey)s", note=note, survey=survey)
        if entry.by != by:
            raise NotAllowed("%(note)s was written by %(who)s, and only who wrote it takes it back", note=note, who=entry.by)
        office.write(EntryWithdrawn, entry.subject, survey, target=note)
