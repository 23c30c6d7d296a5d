"""A record as large as the goals speak of: 100,000 fragments on 1,000 trees, looked at in 20 surveys."""

import random
from collections.abc import Iterator
from pathlib import Path
from typing import Any, Final

from pydantic_core import to_json

from server.settings import Settings
from server.store.opening import create_nursery, open_nursery
from server.store.record import RecordStore
from server.store.tablets import enrol, new_code
from shared_schema.designs import Tree, design_fields
from shared_schema.entries import GenetRegistered, PersonListed, StructureHung, SurveyPlanned
from tests.bench.office_talk import talk_over

__all__ = ["SURVEYS", "office_record"]

TREES: Final = 1_000
GENETS: Final = 50
SURVEYS: Final = tuple(f"{2025 + month // 12}-{month % 12 + 1:02d}" for month in range(20))
LOCATIONS: Final = tuple(f"row {letter}" for letter in "ABCDEFGHIJ")
PATHS: Final = tuple(position.path for position in Tree().positions)
STATUSES: Final = ("alive",) * 60 + ("fading",) * 6 + ("bleached", "preyed_on", "sick", "could_not_tell", "dead", "lost")
BATCH: Final = 20_000


def office_record(folder: Path, trees: int = TREES) -> tuple[Settings, RecordStore]:
    """The record in a folder; one that is there already is taken as it is."""
    settings = Settings.of(folder, f"sqlite:///{folder / 'crosstree.sqlite'}")
    if (folder / "whole").exists():
        return settings, open_nursery(settings)
    folder.mkdir(parents=True, exist_ok=True)
    store = create_nursery(settings, "Bench nursery")
    _register(store, trees)
    writer = enrol(store, new_code(store)[0], "Bench tablet").writer
    lines: list[bytes] = []
    for number, body in enumerate(_told(trees), 1):
        lines.append(to_json({"id": f"{writer}-{number}", "v": 1, "by": "ana"} | body))
        if len(lines) == BATCH:
            store.receive(lines, writer)
            lines.clear()
    store.receive(lines, writer)
    talk_over(settings, store, SURVEYS)
    (folder / "whole").touch()
    return settings, store


def _register(store: RecordStore, trees: int) -> None:
    with store.office("ines") as office:
        office.write(PersonListed, "person:ines", name="Inés Office", role="supervisor")
        office.write(PersonListed, "person:ana", name="Ana Crew")
        office.write(PersonListed, "person:ben", name="Ben Crew")
        for genet in range(GENETS):
            office.write(GenetRegistered, f"genet:G{genet:02}", name=f"Genet {genet}", species="Acropora cervicornis")
        design = design_fields(Tree())
        for tree in range(trees):
            office.write(StructureHung, f"structure:T{tree:04}", design=design, location=LOCATIONS[tree * len(LOCATIONS) // trees])
        for survey in SURVEYS:
            office.write(SurveyPlanned, f"survey:{survey}", name=f"Survey {survey}", opens=f"{survey}-10", closes=f"{survey}-14")


def _at(day: str) -> dict[str, str]:
    return {"observed": f"{day}T09:40:00-04:00", "entered": f"{day}T15:00:00-04:00"}


def _told(trees: int) -> Iterator[dict[str, Any]]:
    """What the tablet says, survey after survey; about one coral in a hundred is replaced by a cutting at each."""
    chance = random.Random(11)
    hanging = {f"T{tree:04}/{path}": f"F{tree * 100 + place:06}" for tree in range(trees) for place, path in enumerate(PATHS)}
    for place, name in hanging.items():
        genet = f"G{int(name[1:]) // 100 % GENETS:02}"
        planted = {"kind": "fragment_planted", "subject": f"fragment:{name}", "place": place, "genet": genet, "tag": name[1:]}
        yield planted | _at("2024-11-12") | ({} if int(name[1:]) % 7 else {"donor": "North ledge"})
    cut = 0
    for survey in SURVEYS:
        at = _at(f"{survey}-12") | {"survey": survey}
        for place, name in list(hanging.items()):
            status = chance.choice(STATUSES)
            subject = f"fragment:{name}"
            seen = {"kind": "condition_seen", "subject": subject, "status": status, "seen_at": place}
            basis = "signed_off" if status == "alive" else "tapped"
            yield seen | at | {"basis": basis} | ({} if status == "alive" else {"live_tissue": 80})
            if int(name[-2:]) == 7:
                months = SURVEYS.index(survey) + 1
                yield {"kind": "size_measured", "subject": subject, "tle_mm": 120 + 14 * months + chance.randrange(9)} | at
            if status in ("dead", "lost") and chance.random() < 0.5:
                yield {"kind": "fragment_moved", "subject": subject, "place": "removed" if status == "dead" else "ground"} | at
                cut += 1
                genet = f"G{int(place[1:5]) % GENETS:02}"
                fresh = {"kind": "fragment_planted", "subject": f"fragment:C{cut:06}", "place": place, "genet": genet}
                yield fresh | at | {"parent": name if name.startswith("F") else f"F{int(place[1:5]) * 100:06}"}
                hanging[place] = f"C{cut:06}"
        for tree in range(trees):
            for level in range(1, 6):
                signed = {"kind": "page_signed_off", "subject": f"page:T{tree:04}/{level}", "alive": 18, "marked": 2, "unseen": 0}
                yield signed | at
            if tree % 5 == 0:
                yield {"kind": "upkeep_done", "subject": f"structure:T{tree:04}", "work": ["cleaned"], "minutes": 25} | at
