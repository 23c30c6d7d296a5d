"""The real app on a tablet that holds a small nursery, at the structures or at a page."""

from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import Final

from pydantic import JsonValue

from mobile.day import Day
from mobile.desk import PracticeDesk
from mobile.dive_desk import DiveDesk
from mobile.identity import Identity
from mobile.screens.dive import Dive
from mobile.store import Store
from mobile.words import Words
from shared_schema.author import Author
from shared_schema.designs import Design, design_fields, parse_design
from shared_schema.entries import (
    BaseEntry,
    ConditionSeen,
    FragmentPlanted,
    GenetRegistered,
    PersonListed,
    StructureHung,
    SurveyPlanned,
)
from tests.mobile.nursery import BEFORE, NOW, NURSERY, SURVEY, Ticking, lines_of, office_author
from tests.screens.harness import TABLET, Glass, Stage, staged

__all__ = ["DESIGNS", "DiveStage", "dive_staged", "nursery", "tablet_with"]

DESIGNS: Final[dict[str, Design]] = {
    "T07": parse_design({"design": "tree"}),
    "T08": parse_design({"design": "tree"}),
    "L1": parse_design({"design": "line", "unit": "m", "length": "39.5", "spacing": "0.5", "per_stretch": 20}),
    "B1": parse_design({"design": "table", "unit": "cm", "rows": 60, "columns": 20, "spacing": "10", "rows_per_page": 4}),
}
"""Two common trees, a line of four stretches, and a table of fifteen pages."""


def nursery(
    structures: tuple[str, ...], before: dict[str, str] | None = None, bare: frozenset[str] = frozenset()
) -> list[BaseEntry]:
    """Structures full of fragments named after their places, as `F-T07-3.2.4`; `before` and `bare` by address."""
    office = office_author()
    for person in ("ana", "ben", "chloe"):
        office.write(PersonListed, f"person:{person}", name=person.title())
    office.write(GenetRegistered, "genet:G1", name="Genet one", species="Acropora cervicornis")
    office.write(SurveyPlanned, f"survey:{SURVEY}", name="November", opens="2026-11-01", closes="2026-11-30", structures=structures)
    for structure in structures:
        design = DESIGNS[structure]
        office.write(StructureHung, f"structure:{structure}", name=f"Reef side {structure[1:]}", design=design_fields(design))
        for position in design.positions:
            place = f"{structure}/{position.path}"
            if place not in bare:
                fragment = f"fragment:F-{structure}-{position.path}"
                office.write(FragmentPlanted, fragment, "2026-01", place=place, genet="G1")
    for place, status in (before or {}).items():
        office.write(ConditionSeen, f"fragment:F-{place.replace('/', '-')}", BEFORE, status=status)
    return office.written


@contextmanager
def tablet_with(path: Path, entries: list[BaseEntry], structures: tuple[str, ...]) -> Iterator[Store]:
    """An enrolled tablet with a pack of these, Ana and Ben aboard; opened again where it is there already."""
    fresh = not path.exists()
    with Store(path) as store:
        if fresh:
            with store.database.writing():
                store.identities.add(Identity("k7f3qz", "token", NURSERY, "Reef Bay", "http://server"))
                store.take(lines_of(entries))
                store.database.run(
                    "INSERT INTO pack (sha256, survey, structures, entries, size, loaded) VALUES (?, ?, ?, ?, ?, ?)",
                    ("0" * 64, SURVEY, f"[{', '.join(f'{chr(34)}{name}{chr(34)}' for name in structures)}]", 1, 1, NOW.isoformat()),
                )
                store.settings.put(survey=SURVEY, aboard=["ana", "ben"], saw="ana", types="ana")
        yield store


@dataclass
class DiveStage:
    """The app at a dive."""

    stage: Stage
    dive: Dive

    @property
    def desk(self) -> DiveDesk:
        """The desk of the structure that is open."""
        assert self.dive.desk is not None
        return self.dive.desk

    @property
    def store(self) -> Store:
        """The tablet's store."""
        return self.dive.day.store

    def status(self, place: str) -> str | None:
        """What this survey says of what hangs at a place, read from the disk."""
        findings = [hung.finding(SURVEY) for hung in self.store.at(place)]
        found = [finding.value("status") for finding in findings if finding is not None]
        return found[0] if found else None

    def tap(self, *names: str) -> None:
        """Tap one after another."""
        for name in names:
            self.stage.tap(name)

    def texts(self) -> str:
        """All that is written on the screen."""
        return "\n".join(label.text for label in self.stage.labels())


@contextmanager
def dive_staged(
    path: Path,
    structures: tuple[str, ...] = ("T07",),
    before: dict[str, str] | None = None,
    bare: frozenset[str] = frozenset(),
    glass: Glass = TABLET,
    words: Words | None = None,
    more: list[BaseEntry] | None = None,
    at: str | None = "",
    **preferences: JsonValue,
) -> Iterator[DiveStage]:
    """The app on such a tablet: at the structures, `at` a page like `T07/3`, or with None where a start shows it.

    `more` entries came by sync.
    """
    with tablet_with(path, [*nursery(structures, before, bare), *(more or [])], structures) as store:
        day = Day(store, Ticking())
        with staged(PracticeDesk("T00", DESIGNS["T07"]), glass, words, day, None, **preferences) as stage:
            dive = stage.app.dive
            assert dive is not None
            if at:
                structure, _, page = at.partition("/")
                dive.open(structure, page)
            elif at is not None:
                dive.go_structures()
            stage.frames(8)
            yield DiveStage(stage, dive)


def elsewhere(writer: str, by: str) -> Author:
    """Somebody with another tablet."""
    return Author(writer, 0, by, Ticking())
