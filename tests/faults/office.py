"""A server that lives through backups and restores behind one address, and the tablets that begin with it."""

import shutil
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from itertools import count
from pathlib import Path

import httpx
from fastapi import FastAPI

from mobile.store import Store
from mobile.sync import Sync
from server.settings import Settings
from server.store.backup import back_up, restore
from server.store.opening import new_office, open_nursery
from server.store.photos import PhotoStore
from server.store.record import RecordStore
from server.store.tablets import new_code
from shared_schema.entries import NoteMade
from tests.mobile.nursery import SURVEY, Ticking, lines_of, small_nursery
from tests.scratch import scratch_folder
from tests.server.running import new_nursery, running

__all__ = ["PACKED", "Beginning", "Office", "beginning", "never"]

PACKED = "packed"
"""The tablet that knows the rest of the nursery only as far as a pack of T01 tells; the others know everything."""
TABLETS = ("blue", "grey", PACKED)


def never(_seconds: float) -> None:
    """A sleep that takes no time."""


@dataclass(frozen=True)
class Beginning:
    """A server that runs, and files to begin from: a nursery in which `tablets` are enrolled and in step."""

    url: str
    app: FastAPI
    folder: Path
    tablets: dict[str, Path]


@contextmanager
def beginning() -> Iterator[Beginning]:
    """Make the files, and let the server run."""
    with scratch_folder() as folder, new_nursery(folder / "beginning") as (settings, record), running(settings) as (url, app):
        record.receive(lines_of(small_nursery()), "officeab")
        paths = {name: folder / f"{name}.sqlite" for name in TABLETS}
        for name, path in paths.items():
            with Store(path) as store, httpx.Client(timeout=60) as client:
                sync = Sync(store, client, Ticking(), never)
                sync.enrol(url, new_code(record)[0], name)
                if name == PACKED:
                    sync.load_pack(SURVEY, ["T01"])
                assert sync.run().state == "in_step"
        for one in (record, app.state.store):
            one.engine.dispose()  # the last one out writes everything into the file
        yield Beginning(url, app, folder, paths)


@dataclass
class Office:
    """The server of one history. Its database can be put back to an earlier one; its address stays."""

    app: FastAPI
    folder: Path
    record: RecordStore

    @classmethod
    def begin(cls, start: Beginning, folder: Path) -> "Office":
        """A server whose nursery is that of the beginning."""
        settings = _settings(folder / "0")
        settings.data.mkdir(parents=True)
        shutil.copy(start.folder / "beginning" / "crosstree.sqlite", settings.data)
        office = cls(start.app, folder, open_nursery(settings))
        office._serve(settings, office.record)
        return office

    def lines(self) -> list[bytes]:
        """All that it holds."""
        return self.record.lines_after({}, 1_000_000, 1 << 40)[0]

    def code(self) -> str:
        """A supervisor makes a code for a tablet."""
        return new_code(self.record)[0]

    def make_a_note(self) -> None:
        """The office writes an entry."""
        with self.record.office("sue") as author:
            author.write(NoteMade, "structure:T01", SURVEY, text="look again")

    def back_up(self, *, by_hand: bool) -> Path:
        """A backup as `crosstree backup` makes it, or `by_hand` a copy of the database while nobody uses it."""
        target = self.folder / f"{next(_numbers)}.{'sqlite' if by_hand else 'zip'}"
        if by_hand:
            self.record.engine.dispose()
            shutil.copy(self.app.state.settings.data / "crosstree.sqlite", target)
        else:
            back_up(self.record, PhotoStore(self.record, self.app.state.settings.photos), target)
        return target

    def put_back(self, backup: Path) -> None:
        """What came after the backup is lost, and the office goes on under a new name."""
        settings = _settings(self.folder / f"{next(_numbers)}")
        if backup.suffix == ".zip":
            record = restore(backup, settings)
        else:
            settings.data.mkdir()
            shutil.copy(backup, settings.data / "crosstree.sqlite")
            record = open_nursery(settings)
            new_office(record)
        self._serve(settings, record)

    def close(self) -> None:
        """Let the database go."""
        self.record.engine.dispose()

    def _serve(self, settings: Settings, record: RecordStore) -> None:
        self.record.engine.dispose()
        self.record = self.app.state.store = record
        self.app.state.settings = settings


_numbers = count(1)


def _settings(folder: Path) -> Settings:
    return Settings.of(folder, f"sqlite:///{folder / 'crosstree.sqlite'}")
