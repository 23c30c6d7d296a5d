"""Photos behind what was said: those that the same person took of the same coral, and the slate that it was typed from."""

from collections.abc import Iterable, Mapping, Sequence
from typing import Final

from sqlalchemy import select
from sqlmodel import col

from server.review.albums import Photo, photos_in
from server.review.questions import Question
from server.review.statements import Statement
from server.store.bulk import in_chunks
from server.store.engine import reading
from server.store.folding import load_finding
from server.store.models import FindingRow
from server.store.record import RecordStore
from shared_schema.entries import PhotoTaken
from shared_schema.envelope import BaseEntry
from shared_schema.ids import parse_address

__all__ = ["photos_behind"]

_AT_MOST: Final = 6
"""So many of one statement are shown; all are in the album of the coral."""


def photos_behind(store: RecordStore, questions: Sequence[Question]) -> dict[str, list[Photo]]:
    """The photos behind each statement of questions of one survey, slates first; entry id of the statement -> photos."""
    said = [(question, one) for question in questions for one in question.statements]
    photos = _photos_of(store, questions[0].key.survey if questions else "", {name for each in said for name in _about(*each)})
    found: dict[str, list[Photo]] = {}
    for question, one in said:
        mine = [
            photo for name in _about(question, one) for photo in photos.get(name, ()) if _shows(photo.entry, one.entry, question)
        ]
        found.setdefault(one.entry.id, sorted(mine, key=lambda photo: not photo.entry.slate)[:_AT_MOST])
    return found


def _about(question: Question, one: Statement) -> list[str]:
    """The subjects whose photos may show what was said: the coral, its page, its structure, the dive."""
    place = one.beside.get("seen_at") or question.key.place or ""
    subjects = [question.key.subject]
    if "/" in place:
        address = parse_address(place)
        subjects += [f"page:{address.page}", f"structure:{address.structure}"]
    if one.entry.visit:
        subjects.append(f"visit:{one.entry.visit}")
    return list(dict.fromkeys(subjects))


def _shows(photo: PhotoTaken, said: BaseEntry, question: Question) -> bool:
    """Whether a photo is by the same hand: of the same dive, or by the same person, or for a slate from the same tablet.

    Of the page and the structure only slates count: other photos of them show much else.
    """
    if photo.subject != question.key.subject and not photo.slate:
        return False
    if photo.visit and said.visit:
        return photo.visit == said.visit and (photo.slate or photo.by == said.by)
    return photo.by == said.by or (photo.slate and photo.writer == said.writer)


def _photos_of(store: RecordStore, survey: str, subjects: Iterable[str]) -> Mapping[str, list[Photo]]:
    """subject -> its photos in a survey, oldest first."""
    found: dict[str, list[Photo]] = {}
    with reading(store.engine) as connection:
        names: list[str] = []
        for some in in_chunks(sorted(set(subjects))):
            rows = connection.execute(
                select(col(FindingRow.subject), col(FindingRow.slots)).where(
                    col(FindingRow.nursery) == store.nursery,
                    col(FindingRow.survey) == survey,
                    col(FindingRow.subject).in_(some),
                    col(FindingRow.slots).contains('"photo":[[', autoescape=True),
                )
            )
            names += [name for subject, slots in rows for name in load_finding(survey, subject, slots).slots["photo"].heads]
        for photo in photos_in(connection, store.nursery, names):
            found.setdefault(photo.entry.subject, []).append(photo)
    return found
