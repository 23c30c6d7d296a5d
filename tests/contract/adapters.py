"""The record port, and what puts each store behind it. An adapter only renames; what it had to mend would be a bug."""

from collections.abc import Callable, Iterator, Sequence
from contextlib import AbstractContextManager, contextmanager
from itertools import count
from typing import NamedTuple, Protocol, TypeAlias

from mobile.identity import Identity
from mobile.outbox import Outbox
from mobile.store import Store
from server.store.record import RecordStore
from shared_schema.envelope import BaseEntry
from shared_schema.fold import Finding, Standing
from shared_schema.ids import Heads, parse_entry_id
from tests.scratch import scratch_folder
from tests.server.blank import beside
from tests.server.running import new_nursery

__all__ = ["FreshRecord", "KeptAside", "RecordPort", "office_files", "tablet_files"]


class KeptAside(NamedTuple):
    """An entry that folds to nothing: its id, why, and its line."""

    id: str
    reason: str
    raw: bytes


class RecordPort(Protocol):
    """A record, whoever keeps it."""

    def take(self, lines: Sequence[bytes]) -> tuple[int, int]:
        """Keep all of these lines or none; gives how many were new, and how many were known. Raises as a push does."""

    def heads(self) -> Heads:
        """writer -> highest number held."""

    def lines_after(self, heads: Heads) -> list[bytes]:
        """Every line beyond these heads."""

    def finding(self, survey: str, subject: str) -> Finding:
        """What a survey found of a subject."""

    def standing(self, subject: str) -> Standing:
        """What is known of a subject now."""

    def entries_of(self, survey: str, subject: str) -> list[BaseEntry]:
        """The entries of a group that count."""

    def set_aside(self) -> list[KeptAside]:
        """The entries that do not, by writer and number."""


FreshRecord: TypeAlias = Callable[[], AbstractContextManager[RecordPort]]
"""Makes an empty record each time, and clears it away."""


class _OnTablet:
    def __init__(self, store: Store) -> None:
        self._store = store

    def take(self, lines: Sequence[bytes]) -> tuple[int, int]:
        return self._store.take(lines)

    def heads(self) -> Heads:
        return self._store.heads()

    def lines_after(self, heads: Heads) -> list[bytes]:
        return Outbox(self._store).lost_lines(heads)

    def finding(self, survey: str, subject: str) -> Finding:
        return self._store.finding(survey, subject) or Finding(survey, subject, {})

    def standing(self, subject: str) -> Standing:
        return self._store.standing(subject)

    def entries_of(self, survey: str, subject: str) -> list[BaseEntry]:
        return list(self._store.entries_of(survey, subject))

    def set_aside(self) -> list[KeptAside]:
        found = [(one, self._store.line(parse_entry_id(one.id))) for one in self._store.set_aside()]
        return [KeptAside(one.id, one.reason, raw or b"") for one, raw in found]


class _AtOffice:
    def __init__(self, store: RecordStore) -> None:
        self._store = store

    def take(self, lines: Sequence[bytes]) -> tuple[int, int]:
        receipt = self._store.receive(lines, "k7f3qz")
        return receipt.stored, receipt.known

    def heads(self) -> Heads:
        return self._store.heads()

    def lines_after(self, heads: Heads) -> list[bytes]:
        return self._store.lines_after(heads, limit=1_000_000)[0]

    def finding(self, survey: str, subject: str) -> Finding:
        return self._store.finding(survey, subject)

    def standing(self, subject: str) -> Standing:
        return self._store.standing(subject)

    def entries_of(self, survey: str, subject: str) -> list[BaseEntry]:
        return [stored.entry for stored in self._store.entries_of(survey, subject) if stored.entry is not None]

    def set_aside(self) -> list[KeptAside]:
        # What cannot be understood belongs to no group: both its names are empty.
        return [
            KeptAside(stored.id, stored.set_aside.partition(":")[0], stored.raw)
            for stored in self._store.entries_of("", "")
            if stored.set_aside is not None
        ]


@contextmanager
def tablet_files() -> Iterator[FreshRecord]:
    """Tablets, each with a file of its own."""
    numbers = count(1)
    with scratch_folder() as folder:

        @contextmanager
        def fresh() -> Iterator[RecordPort]:
            with Store(folder / f"{next(numbers)}.sqlite") as store:
                with store.database.writing():
                    store.identities.add(Identity("b2m9xw", "token", "reefbay", "Reef Bay", "http://server"))
                yield _OnTablet(store)

        yield fresh


@contextmanager
def office_files(database_url: str | None = None) -> Iterator[FreshRecord]:
    """Nurseries side by side in one database: an SQLite file, or the one at the URL."""
    numbers = count(1)
    with scratch_folder() as folder, new_nursery(folder, database_url) as (_, first):

        @contextmanager
        def fresh() -> Iterator[RecordPort]:
            yield _AtOffice(beside(first, f"Nursery {next(numbers)}"))

        yield fresh
