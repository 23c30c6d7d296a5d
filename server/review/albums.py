"""Photos of something, through time: those that are here, and those that the tablet has yet to send."""

from collections.abc import Collection, Sequence
from dataclasses import dataclass

from sqlalchemy import Connection, select
from sqlmodel import col

from server.review.entries import entries_named
from server.review.growth import Growth, growth_of
from server.review.measures import Sizes, sizes_of
from server.store.bulk import in_chunks
from server.store.engine import reading
from server.store.folding import load_finding
from server.store.models import FindingRow, PhotoRow
from server.store.record import RecordStore
from shared_schema.entries import PhotoTaken

__all__ = ["Album", "Photo", "photos_here", "photos_in", "read_album"]


@dataclass(frozen=True, slots=True)
class Photo:
    """A photo as its entry names it. `here`: its bytes came and were checked."""

    entry: PhotoTaken
    here: bool


@dataclass(frozen=True, slots=True)
class Album:
    """What there is to see of a fragment, oldest first: its photos, its sizes, its growth where measured on two days."""

    photos: tuple[Photo, ...]
    sizes: Sizes
    growth: Growth | None


def read_album(store: RecordStore, subject: str) -> Album:
    """The album of a fragment; empty where there is nothing."""
    with reading(store.engine) as connection:
        rows = connection.execute(
            select(col(FindingRow.survey), col(FindingRow.slots)).where(
                col(FindingRow.nursery) == store.nursery,
                col(FindingRow.subject) == subject,
                col(FindingRow.slots).contains('"photo":[[', autoescape=True),
            )
        ).all()
        names = [name for survey, slots in rows for name in load_finding(survey, subject, slots).slots["photo"].heads]
        photos = photos_in(connection, store.nursery, names)
        sizes = sizes_of(connection, store.nursery, [subject]).get(subject, Sizes())
    return Album(tuple(photos), sizes, growth_of(sizes.tle, sizes.length))


def photos_in(connection: Connection, nursery: int, names: Collection[str]) -> list[Photo]:
    """The photos of these entries, oldest first."""
    found = entries_named(connection, nursery, names).values()
    taken = sorted((one for one in found if isinstance(one, PhotoTaken)), key=lambda one: (one.observed, one.id))
    here = photos_here(connection, nursery, [one.sha256 for one in taken])
    return [Photo(one, one.sha256 in here) for one in taken]


def photos_here(connection: Connection, nursery: int, hashes: Sequence[str]) -> set[str]:
    """Those of these SHA-256 whose bytes are here."""
    found: set[str] = set()
    for some in in_chunks(hashes):
        rows = connection.execute(
            select(col(PhotoRow.sha256)).where(col(PhotoRow.nursery) == nursery, col(PhotoRow.sha256).in_(some))
        )
        found.update(rows.scalars())
    return found
