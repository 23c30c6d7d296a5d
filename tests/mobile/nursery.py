"""A small made-up nursery as its office would have entered it, and tablets that hold it."""

from collections.abc import Iterator
from contextlib import contextmanager
from datetime import UTC, datetime, timedelta
from decimal import Decimal
from pathlib import Path

from mobile.identity import Identity
from mobile.recorder import Recorder
from mobile.store import Store
from shared_schema.author import Author
from shared_schema.designs import Tree, design_fields
from shared_schema.entries import (
    BaseEntry,
    ConditionSeen,
    FragmentPlanted,
    GenetRegistered,
    PersonListed,
    StructureHung,
    SurveyPlanned,
    write_entry,
)
from shared_schema.fold import Finding

__all__ = [
    "NOW",
    "NURSERY",
    "SURVEY",
    "TREE",
    "Ticking",
    "found_in",
    "lines_of",
    "office_author",
    "recorder",
    "small_nursery",
    "tablet",
]

NURSERY = "reefbay"
SURVEY = "2026-11"
BEFORE = "2026-08"
NOW = datetime(2026, 11, 14, 9, 0, tzinfo=UTC)
TREE = Tree(levels=2, arms=2, holes=(Decimal(7), Decimal(13), Decimal(19)))
"""Two pages of six positions: T01/1.1.1 to T01/2.2.3."""


class Ticking:
    """A clock that goes on by one second each time that it is asked."""

    def __init__(self, start: datetime = NOW) -> None:
        self.now = start

    def __call__(self) -> datetime:
        """The time now."""
        self.now += timedelta(seconds=1)
        return self.now


def office_author(last: int = 0, writer: str = "officeab") -> Author:
    """The office, numbered on from `last`."""
    return Author(writer, last, "sue", Ticking(NOW - timedelta(days=200)))


def small_nursery(structures: tuple[str, ...] = ("T01", "T02"), statuses: dict[str, str] | None = None) -> list[BaseEntry]:
    """People, a genet, a survey, and trees full of fragments named F-<structure>-<n>, n from 1 in reading order.

    `statuses`: what the survey before found, fragment -> status.
    """
    office = office_author()
    for person in ("ana", "ben"):
        office.write(PersonListed, f"person:{person}", name=person.title())
    office.write(GenetRegistered, "genet:G1", name="Genet one", species="Acropora cervicornis")
    office.write(SurveyPlanned, f"survey:{SURVEY}", name="November", opens="2026-11-01", closes="2026-11-30", structures=structures)
    for structure in structures:
        office.write(StructureHung, f"structure:{structure}", name=f"Tree {structure}", design=design_fields(TREE))
        for number, position in enumerate(TREE.positions, start=1):
            office.write(
                FragmentPlanted,
                f"fragment:F-{structure}-{number}",
                "2026-01",
                place=f"{structure}/{position.path}",
                genet="G1",
            )
    for fragment, status in (statuses or {}).items():
        office.write(ConditionSeen, f"fragment:{fragment}", BEFORE, status=status)
    return office.written


def lines_of(entries: list[BaseEntry]) -> list[bytes]:
    """The entries' raw lines."""
    return [write_entry(entry) for entry in entries]


@contextmanager
def tablet(path: Path, writer: str = "k7f3qz", statuses: dict[str, str] | None = None) -> Iterator[Store]:
    """A tablet that is enrolled and has taken the small nursery; opened again where it is there already."""
    fresh = not path.exists()
    with Store(path) as store:
        if fresh:
            with store.database.writing():
                store.identities.add(Identity(writer, f"token-{writer}", NURSERY, "Reef Bay", "http://server"))
            store.take(lines_of(small_nursery(statuses=statuses)))
        yield store


def found_in(store: Store, subject: str) -> Finding:
    """What the survey found of a subject that it speaks of."""
    finding = store.finding(SURVEY, subject)
    assert finding is not None
    return finding


def recorder(store: Store, by: str = "ana", typed_by: str | None = None, survey: str = SURVEY) -> Recorder:
    """Somebody who records on a tablet."""
    return Recorder(store, survey, by, Ticking(), typed_by)
