"""What tests of the day share: a real server with the small nursery, tablets of its crew, and typing."""

import threading
import time
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from datetime import UTC, datetime, timedelta
from pathlib import Path

import httpx
from pydantic import JsonValue

from mobile.day import Day
from mobile.store import Store
from mobile.sync import Sync
from server.settings import Settings
from server.store.record import RecordStore
from server.store.tablets import new_code
from shared_schema.author import Author
from shared_schema.entries import BaseEntry
from tests.mobile.nursery import SURVEY, small_nursery
from tests.screens.harness import TABLET, Clock, Glass, Stage, staged
from tests.screens.samples import untouched_tree
from tests.server.running import new_nursery, running

__all__ = [
    "Harbour",
    "copy_entry",
    "harbour",
    "load_survey",
    "now",
    "on_a_tablet",
    "second_tablet",
    "texts",
    "type_code",
    "type_text",
]


def now() -> datetime:
    """The time."""
    return datetime.now(UTC)


def copy_entry(office: Author, entry: BaseEntry) -> None:
    """Write what an entry says as the office's own."""
    fields = {name: value for name, value in entry if name not in BaseEntry.model_fields and name != "kind"}
    office.write(type(entry), entry.subject, entry.survey, **fields)


class Harbour:
    """The office: its record, and a server that can be switched off and on again, always at the same address."""

    def __init__(self, settings: Settings, record: RecordStore) -> None:
        self.settings, self.record, self.url = settings, record, ""

    @contextmanager
    def open(self) -> Iterator[str]:
        """The address of the server while it runs."""
        with running(self.settings) as (url, _):
            self.url = url
            yield url

    def code(self) -> str:
        """A one-time code."""
        return new_code(self.record)[0]


@contextmanager
def harbour(folder: Path, entries: Sequence[BaseEntry] | None = None) -> Iterator[Harbour]:
    """An office with a nursery in its record, the small one unless its `entries` are given."""
    with new_nursery(folder / "server") as (settings, record):
        with record.office("sue") as office:
            for entry in small_nursery() if entries is None else entries:
                copy_entry(office, entry)
        yield Harbour(settings, record)


@contextmanager
def on_a_tablet(path: Path, clock: Clock | None = None, glass: Glass = TABLET, **preferences: JsonValue) -> Iterator[Stage]:
    """The app on the tablet whose database is at `path`; with a `clock`, its time goes on with the taps alone."""
    began = now()
    watch = now if clock is None else lambda: began + timedelta(seconds=clock.now)
    with Store(path) as store, staged(untouched_tree(), glass, None, Day(store, watch), clock, **preferences) as stage:
        yield stage
    assert [thread.name for thread in threading.enumerate() if thread.name == "errand"] == []


@contextmanager
def second_tablet(path: Path) -> Iterator[tuple[Store, Sync]]:
    """A tablet without a screen, and its sync."""
    with Store(path) as store, httpx.Client(timeout=30) as client:
        yield store, Sync(store, client, now, time.sleep)


def texts(stage: Stage) -> str:
    """Everything that can be read on the screen."""
    stage.frames(3)
    return "\n".join(label.text for label in stage.labels())


def load_survey(stage: Stage) -> None:
    """From home: choose the survey, load what it names, and go back."""
    stage.tap("load")
    stage.tap("ask:survey")
    stage.wait_for(lambda: f"pick:{SURVEY}" in stage.targets())
    stage.tap(f"pick:{SURVEY}")
    stage.tap("load")
    stage.wait_for(lambda: not stage.ashore.load.busy)
    assert stage.ashore.load.trouble == ""
    stage.tap("back")


def type_text(stage: Stage, text: str) -> None:
    """Type on the keys of a text pad, and confirm."""
    for character in text:
        if character == " ":
            stage.tap("key:space")
        elif character.isupper():
            stage.tap("key:shift")
            stage.tap(f"key:{character.lower()}")
        else:
            stage.tap(f"key:{character}")
    stage.tap("key:done")


def type_code(stage: Stage, code: str) -> None:
    """Type a code on its pad, and confirm."""
    for character in code.replace("-", ""):
        stage.tap(f"key:{character}")
    stage.tap("key:done")
