"""Tablets of a boat for the browser tests: the real store and sync, over HTTP to the test's server; and a nursery for them."""

import time
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path
from typing import Final

import httpx

from mobile.recorder import Recorder
from mobile.store import Store
from mobile.sync import Sync
from server.store.record import RecordStore
from server.store.tablets import new_code
from shared_schema.designs import Tree, design_fields
from shared_schema.entries import ConditionSeen, FragmentPlanted, GenetRegistered, PersonListed, StructureHung, SurveyPlanned
from shared_schema.fold import Slot

__all__ = ["BEFORE", "CREW", "SURVEY", "Tablet", "enrolled", "hang_tree"]

BEFORE: Final = "2026-10"
SURVEY: Final = "2026-11"
CREW: Final = {"ines": "Inés Office", "marta": "Marta Office", "ana": "Ana Crew", "ben": "Ben Crew", "cleo": "Cleo Crew"}


@dataclass(frozen=True, slots=True)
class Tablet:
    """A tablet with what it holds."""

    store: Store
    sync: Sync

    def crew(self, by: str) -> Recorder:
        """Somebody who records on it."""
        return Recorder(self.store, SURVEY, by, lambda: datetime.now(UTC))

    def bring(self) -> None:
        """Sync until nothing is left, as ashore."""
        outcome = self.sync.run()
        assert outcome.state == "in_step", outcome.detail

    def status(self, fragment: str) -> Slot:
        """What it shows of a fragment's condition."""
        finding = self.store.finding(SURVEY, f"fragment:{fragment}")
        assert finding is not None
        return finding.slots["status"]


@contextmanager
def enrolled(folder: Path, name: str, url: str, record: RecordStore) -> Iterator[Tablet]:
    """A tablet that enrolled by a code and took the survey's pack along."""
    with Store(folder / f"{name}.sqlite") as store, httpx.Client(timeout=30) as client:
        sync = Sync(store, client, lambda: datetime.now(UTC), time.sleep)
        sync.enrol(url, new_code(record)[0], name)
        sync.load_pack(SURVEY)
        yield Tablet(store, sync)


def hang_tree(record: RecordStore, structure: str = "T01") -> None:
    """A whole tree of fragments named <structure>-001 and on in reading order, all of them seen alive in the survey before."""
    with record.office("ines") as office:
        for person, name in CREW.items():
            role = "supervisor" if "Office" in name else "crew"
            office.write(PersonListed, f"person:{person}", name=name, role=role)
        office.write(GenetRegistered, "genet:G1", name="First genet", species="Acropora cervicornis")
        office.write(StructureHung, f"structure:{structure}", design=design_fields(Tree()), location="made up")
        for number, position in enumerate(Tree().positions, 1):
            subject, place = f"fragment:{structure}-{number:03}", f"{structure}/{position.path}"
            office.write(FragmentPlanted, subject, place=place, genet="G1")
            office.write(ConditionSeen, subject, BEFORE, status="alive", seen_at=place)
        for survey, day in ((BEFORE, "2026-10-12"), (SURVEY, "2026-11-14")):
            name = f"Survey of {survey}"
            office.write(SurveyPlanned, f"survey:{survey}", name=name, opens=day, closes=day, structures=(structure,))
