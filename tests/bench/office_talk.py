"""What people say in a nursery besides looking: they disagree, rule, photograph, dive, outplant, and misplace things."""

import hashlib
import random
from collections.abc import Iterator
from pathlib import Path
from typing import Any, Final

from pydantic_core import to_json
from sqlalchemy import select
from sqlmodel import col

from server.settings import Settings
from server.store.engine import reading
from server.store.models import FindingRow
from server.store.photos import PhotoStore
from server.store.record import RecordStore
from server.store.tablets import enrol, new_code
from shared_schema.entries import NoteMade, RulingGiven, SurveySignedOff

__all__ = ["PICTURE", "SITES", "talk_over"]

PICTURE: Final = Path(__file__).parent.parent.parent / "server" / "static" / "icon.svg"
SITES: Final = ("north-ledge", "patch.4", "spur", "wall")
DISAGREE: Final = 150
"""Corals in a survey that a second crew found otherwise, for about one in seven hundred."""


def talk_over(settings: Settings, store: RecordStore, surveys: tuple[str, ...]) -> None:
    """Add it to a record of these surveys."""
    ben = enrol(store, new_code(store)[0], "Second tablet").writer
    seen = {survey: _some_seen(store, survey) for survey in surveys}
    picture = PICTURE.read_bytes()
    shot = hashlib.sha256(picture).hexdigest()
    PhotoStore(store, settings.photos).add(shot, 0, len(picture), picture)
    bodies = [body for survey in surveys for body in _told(survey, seen[survey], shot, len(picture))]
    lines = [to_json({"id": f"{ben}-{number}", "v": 1, "by": "ben"} | body) for number, body in enumerate(bodies, 1)]
    store.receive(lines, ben)
    for survey in surveys[:-1]:
        _rule(store, survey, [subject for subject, *_ in seen[survey][:DISAGREE]])


def _some_seen(store: RecordStore, survey: str) -> list[tuple[str, str, str]]:
    """(subject, status, place) of corals of a survey, drawn by lot."""
    with reading(store.engine) as connection:
        rows = connection.execute(
            select(col(FindingRow.subject), col(FindingRow.status), col(FindingRow.structure)).where(
                col(FindingRow.nursery) == store.nursery,
                col(FindingRow.survey) == survey,
                col(FindingRow.sort) == "fragment",
                col(FindingRow.structure).is_not(None),
                col(FindingRow.status).in_(("alive", "fading")),
            )
        ).all()
    found = [(row.subject, row.status or "", row.structure or "") for row in rows]
    return random.Random(survey).sample(found, min(len(found), 4 * DISAGREE))


def _told(survey: str, seen: list[tuple[str, str, str]], shot: str, size: int) -> Iterator[dict[str, Any]]:
    at = {"observed": f"{survey}-13T09:40:00-04:00", "entered": f"{survey}-13T15:00:00-04:00", "survey": survey}
    for subject, status, _ in seen[:DISAGREE]:
        yield {"kind": "condition_seen", "subject": subject, "status": "sick" if status == "alive" else "alive"} | at
    for number, (subject, *_) in enumerate(seen[DISAGREE : DISAGREE + 60]):
        name = shot if number == 0 else hashlib.sha256(f"{survey} {subject}".encode()).hexdigest()
        yield {"kind": "photo_taken", "subject": subject, "sha256": name, "size": size, "media_type": "image/png"} | at
        yield {"kind": "note_made", "subject": subject, "text": "Algae on the tie, loose by the look of it."} | at
    for number, (subject, *_) in enumerate(seen[DISAGREE + 60 : DISAGREE + 160]):
        yield {"kind": "fragment_outplanted", "subject": subject, "place": f"site:{SITES[number % len(SITES)]}"} | at
    for subject, _, structure in seen[DISAGREE + 160 : DISAGREE + 164]:
        yield {"kind": "fragment_moved", "subject": subject, "place": f"{structure}/1.1.1"} | at
    for number in range(8):
        dive = {"people": ["ana", "ben"], "place": f"row {number}", "went_in": f"{survey}-13T{8 + number:02}:00:00-04:00"}
        yield {"kind": "dive_logged", "subject": f"visit:{survey}-{number}"} | dive | at
    for number in range(3):
        yield {"kind": "not_yet_known", "subject": f"visit:{survey}-{number}"} | at


def _rule(store: RecordStore, survey: str, subjects: list[str]) -> None:
    """Settle what two crews disagree on as one batch, note something, and sign the survey off."""
    disputed = [(subject, store.finding(survey, subject).slots["status"]) for subject in subjects]
    asked = [(subject, slot) for subject, slot in disputed if slot.disputed]
    with store.office("ines") as office:
        batch = f"{office.writer}-{office.last + 1}-{len(asked)}"
        for subject, slot in asked:
            said = {"fact": "status", "value": slot.value, "replaces": slot.disputed, "reason": "seen again", "batch": batch}
            office.write(RulingGiven, subject, survey, **said)
        for subject in subjects[:20]:
            office.write(NoteMade, subject, survey, text="Photographs asked for.")
    with store.office("ines") as office:
        office.write(SurveySignedOff, f"survey:{survey}", survey, questions=0, unseen=0, not_reached=0, heads=store.heads())
