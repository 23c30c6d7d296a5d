"""A tablet that holds a thousand common trees, 100,000 fragments, and what the last survey found of each."""

import json
from pathlib import Path
from typing import Final

from mobile.identity import Identity
from mobile.store import Store
from shared_schema.author import Author
from shared_schema.designs import design_fields, parse_design
from shared_schema.entries import FragmentPlanted, PersonListed, StructureHung, SurveyPlanned, write_entry
from tests.bench.survey import Watch, observe

__all__ = ["SURVEY", "TREES", "large_tablet"]

TREES: Final = 1_000
SURVEY: Final = "2026-11"
_BEFORE: Final = "2026-08"


def large_tablet(path: Path, trees: int = TREES) -> None:
    """Make it, at a page in the middle, as a crew left it."""
    design = parse_design({"design": "tree"})
    office = Author("officeab", 0, "sue", Watch())
    office.write(PersonListed, "person:ana", name="Ana")
    office.write(SurveyPlanned, f"survey:{SURVEY}", name="November", opens="2026-11-01", closes="2026-11-30")
    for tree in range(trees):
        office.write(StructureHung, f"structure:T{tree:04}", design=design_fields(design))
        for place, position in enumerate(design.positions):
            fragment = f"fragment:F{tree * 100 + place:06}"
            office.write(FragmentPlanted, fragment, "2026-01", place=f"T{tree:04}/{position.path}", genet=f"G{tree % 14:02}")
    middle = f"T{trees // 2:04}"
    with Store(path) as store:
        with store.database.writing():
            store.identities.add(Identity("k7f3qz", "token", "bench", "Bench", "http://127.0.0.1:9"))
            store.take([write_entry(entry) for entry in office.written])
            store.take([write_entry(entry) for entry in observe("tabone", _BEFORE, trees * 100)])
            store.database.run(
                "INSERT INTO pack (sha256, survey, structures, entries, size, loaded) VALUES (?, ?, ?, ?, ?, ?)",
                ("0" * 64, SURVEY, json.dumps([f"T{tree:04}" for tree in range(trees)]), 1, 1, "2026-11-14T09:00:00+00:00"),
            )
        store.settings.put(survey=SURVEY, aboard=["ana"], saw="ana", types="ana", page=f"{middle}/3", touched=f"{middle}/3.2.4")
