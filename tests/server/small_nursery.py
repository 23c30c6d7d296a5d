"""A small nursery written entry by entry: two surveys, three structures, and people who do not agree."""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta, timezone
from decimal import Decimal
from typing import Any, Final

from server.store.record import RecordStore
from server.store.tablets import enrol, new_code
from shared_schema.author import Author
from shared_schema.designs import Design, Line, Table, Tree, design_fields
from shared_schema.entries import (
    ConditionSeen,
    FragmentPlanted,
    GenetRegistered,
    NoteMade,
    PageNotReached,
    PageSignedOff,
    PersonListed,
    StructureHung,
    SurveyPlanned,
    write_entry,
)
from shared_schema.envelope import BaseEntry

__all__ = ["BEFORE", "DESIGNS", "NOW", "SITE_MORNING", "Boat", "SmallNursery", "fill", "positions"]

BEFORE: Final = "2026-10"
NOW: Final = "2026-11"
SITE_MORNING: Final = datetime(2026, 11, 14, 9, 40, tzinfo=timezone(timedelta(hours=-4)))
DESIGNS: Final[dict[str, Design]] = {
    "T1": Tree(),
    "L1": Line(unit="m", length=Decimal(12), spacing=Decimal("0.5"), per_stretch=13),
    "B1": Table(unit="cm", rows=4, columns=10, spacing=Decimal(20)),
}


class Boat:
    """A tablet on a boat: what is written goes to the record as soon as it is back."""

    def __init__(self, store: RecordStore, name: str, by: str, clock_off_s: int = 0) -> None:
        self._store, self._off = store, clock_off_s
        writer = enrol(store, new_code(store)[0], name).writer
        self.now = SITE_MORNING
        self.author = Author(writer, 0, by, lambda: self.now)
        self._sent = 0

    def saw(self, fragment: str, place: str, status: str, **more: Any) -> ConditionSeen:
        """Somebody saw a fragment, in the survey NOW unless told otherwise."""
        fields: dict[str, Any] = {"survey": NOW, "seen_at": place, "status": status} | more
        return self.author.write(ConditionSeen, f"fragment:{fragment}", **fields)

    def back(self) -> list[BaseEntry]:
        """Bring what was written since the last time; gives it."""
        fresh = self.author.written[self._sent :]
        lines = [write_entry(entry) for entry in fresh]
        received = datetime(2026, 11, 14, 17, 5, tzinfo=UTC)
        self._store.receive(lines, self.author.writer, int(received.timestamp() * 1000), self._off)
        self._sent = len(self.author.written)
        return fresh


@dataclass(frozen=True, slots=True)
class SmallNursery:
    """Ana's tablet and Ben's, after both are back."""

    ana: Boat
    ben: Boat


def positions(structure: str) -> Iterator[tuple[str, str]]:
    """(fragment, address) of each position that holds a coral: all but every seventh on the table."""
    for index, position in enumerate(DESIGNS[structure].positions):
        if structure != "B1" or index % 7 != 3:
            yield f"{structure}-{index + 1:03}", f"{structure}/{position.path}"


def fill(store: RecordStore) -> SmallNursery:
    """Write the nursery."""
    _settle_in(store)
    ana, ben = Boat(store, "Orange", "ana", clock_off_s=3), Boat(store, "Grey", "ben", clock_off_s=-412)
    _before(ana)
    _now(ana, ben)
    ana.back()
    ben.back()
    return SmallNursery(ana, ben)


def _settle_in(store: RecordStore) -> None:
    with store.office("ines") as office:
        for person, name in (("ines", "Inés Office"), ("ana", "Ana Crew"), ("ben", "Ben Crew"), ("cleo", "Cleo Typist")):
            role = "supervisor" if person == "ines" else "crew"
            office.write(PersonListed, f"person:{person}", name=name, role=role)
        office.write(GenetRegistered, "genet:G1", name="First genet", species="Acropora cervicornis")
        for structure, design in DESIGNS.items():
            office.write(StructureHung, f"structure:{structure}", design=design_fields(design), location="made up")
            for fragment, place in positions(structure):
                parent = {"T1-002": "T1-001", "T1-003": "T1-002"}.get(fragment)
                office.write(FragmentPlanted, f"fragment:{fragment}", place=place, genet="G1", parent=parent)
        for survey, day in ((BEFORE, "2026-10-12"), (NOW, "2026-11-14")):
            office.write(
                SurveyPlanned,
                f"survey:{survey}",
                name=f"Survey of {day[:7]}",
                opens=day,
                closes=day,
                structures=tuple(DESIGNS),
            )


def _before(ana: Boat) -> None:
    for structure in DESIGNS:
        for index, (fragment, place) in enumerate(positions(structure)):
            status = "fading" if index % 9 == 4 else "alive"
            ana.saw(fragment, place, status, survey=BEFORE, live_tissue=100 if status == "alive" else 80)
    for structure, design in DESIGNS.items():
        for page in design.pages:
            ana.author.write(PageSignedOff, f"page:{structure}/{page.path}", BEFORE, alive=len(page.positions), marked=0, unseen=0)


def _now(ana: Boat, ben: Boat) -> None:
    odd = {5: "bleached", 12: "preyed_on", 23: "sick", 31: "dead", 44: "lost", 52: "could_not_tell", 61: "fading"}
    for index, (fragment, place) in enumerate(positions("T1")):
        if index < 80 and index not in (7, 70):
            basis = "tapped" if index in odd else "signed_off"
            ana.saw(fragment, place, odd.get(index, "alive"), basis=basis)
    for page in "1234":
        ana.author.write(PageSignedOff, f"page:T1/{page}", NOW, alive=18, marked=2, unseen=0)
    ben.author.write(PageNotReached, "page:T1/5", NOW, reason="current too strong")
    for index, (fragment, place) in enumerate(positions("L1")):
        ben.saw(fragment, place, "lost" if index in (2, 3) else "alive", typed_by="cleo")
    ben.author.write(PageSignedOff, "page:L1/1", NOW, alive=11, marked=2, unseen=0)
    _disagree(ana, ben)


def _disagree(ana: Boat, ben: Boat) -> None:
    """Ben went round level 1 of the tree too, and neither knew of the other's tablet."""
    ben.saw("T1-001", "T1/1.1.1", "lost")
    seen = ben.saw("T1-006", "T1/1.2.1", "sick", live_tissue=60, signs=("band",))
    ben.author.write(NoteMade, "fragment:T1-006", NOW, text="white band near the tie", about=seen.id)
    ana.saw("T1-010", "T1/1.2.5", "alive", live_tissue=90, replaces=(_last(ana, "T1-010"),))
    ben.saw("T1-010", "T1/1.2.5", "alive", live_tissue=40)


def _last(boat: Boat, fragment: str) -> str:
    return next(one.id for one in reversed(boat.author.written) if one.subject == f"fragment:{fragment}")
