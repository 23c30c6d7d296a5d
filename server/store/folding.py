"""Keeps the read tables equal to the fold of the record: a push refolds just the groups that it touches."""

from collections.abc import Iterable, Mapping, Sequence
from typing import Any, Final

import msgspec
from sqlalchemy import Connection, bindparam, select
from sqlmodel import col

from server.store.bulk import in_chunks, update_rows, upsert_rows
from server.store.models import EntryRow, FindingRow, StandingRow
from server.store.states import State, state_of
from server.store.tags import tag_key
from shared_schema.entries import read_entry
from shared_schema.envelope import BaseEntry
from shared_schema.fold import Finding, Slot, Stand, Standing, fold_group, restand, stand
from shared_schema.ids import split_subject, structure_of_place

__all__ = ["finding_row", "load_finding", "load_standing", "refold", "standing_row"]

Group = tuple[str, str]


class _Body(msgspec.Struct, omit_defaults=True):
    slots: Mapping[str, Slot]
    missing: tuple[str, ...] = ()
    idle: tuple[str, ...] = ()


_write: Final = msgspec.json.Encoder().encode
_read_slots: Final = msgspec.json.Decoder(_Body).decode
_read_facts: Final = msgspec.json.Decoder(dict[str, Stand]).decode

_INDEXED: Final = ("place", "genet", "parent", "tag")
_NOT_INDEXED: Final = ("place_survey", "status", "status_survey", "facts")


def refold(connection: Connection, nursery: int, new: Mapping[Group, list[BaseEntry]]) -> None:
    """Fold the groups of these new entries, which are not yet in the table, together with what it holds of them."""
    findings = [fold_group([*new[group], *before]) for group, before in _earlier(connection, nursery, list(new)).items()]
    upsert_rows(connection, FindingRow, [finding_row(nursery, finding) for finding in findings])
    standings: dict[str, Standing] = {}
    held = _standings(connection, nursery, [finding.subject for finding in findings])
    for finding in findings:
        before = standings.get(finding.subject) or held.get(finding.subject) or Standing(finding.subject, {})
        after = restand(before, finding)
        standings[finding.subject] = after or stand(finding.subject, _findings(connection, nursery, finding.subject))
    _write_standings(connection, nursery, held, standings.values())


def _write_standings(connection: Connection, nursery: int, held: Mapping[str, Standing], standings: Iterable[Standing]) -> None:
    """Most often only conditions changed: then the six indexes over place, descent and state need no touch."""
    whole: list[tuple[Any, ...]] = []
    light: list[tuple[Any, ...]] = []
    for standing in standings:
        row = standing_row(nursery, standing)
        before = held.get(standing.subject)
        if before is not None and _indexed(before) == _indexed(standing):
            light.append(row)
        else:
            whole.append(row)
    upsert_rows(connection, StandingRow, whole)
    update_rows(connection, StandingRow, _NOT_INDEXED, light)


def _indexed(standing: Standing) -> tuple[Any, ...]:
    return (_state(standing), *map(standing.value, _INDEXED))


def _earlier(connection: Connection, nursery: int, groups: Sequence[Group]) -> dict[Group, list[BaseEntry]]:
    earlier: dict[Group, list[BaseEntry]] = {group: [] for group in groups}
    by_survey: dict[str, list[str]] = {}
    for survey, subject in groups:
        by_survey.setdefault(survey, []).append(subject)
    statement = select(col(EntryRow.raw)).where(
        col(EntryRow.nursery) == nursery,
        col(EntryRow.survey) == bindparam("survey"),
        col(EntryRow.subject).in_(bindparam("subjects", expanding=True)),
        col(EntryRow.set_aside).is_(None),
    )
    for survey, subjects in by_survey.items():
        for some in in_chunks(subjects):
            for (raw,) in connection.execute(statement, {"survey": survey, "subjects": some}):
                entry = read_entry(raw)
                earlier[entry.group].append(entry)
    return earlier


def _standings(connection: Connection, nursery: int, subjects: Iterable[str]) -> dict[str, Standing]:
    statement = select(col(StandingRow.subject), col(StandingRow.facts)).where(
        col(StandingRow.nursery) == nursery, col(StandingRow.subject).in_(bindparam("subjects", expanding=True))
    )
    return {
        subject: load_standing(subject, facts)
        for some in in_chunks(sorted(set(subjects)))
        for subject, facts in connection.execute(statement, {"subjects": some})
    }


def _findings(connection: Connection, nursery: int, subject: str) -> list[Finding]:
    rows = connection.execute(
        select(col(FindingRow.survey), col(FindingRow.slots)).where(
            col(FindingRow.nursery) == nursery, col(FindingRow.subject) == subject
        )
    )
    return [load_finding(survey, subject, slots) for survey, slots in rows]


def finding_row(nursery: int, finding: Finding) -> tuple[Any, ...]:
    """The row of a finding, in the order of FindingRow's columns."""
    held = finding.slots
    body = _Body({name: held[name] for name in sorted(held)}, finding.missing, finding.idle)
    sort, name = split_subject(finding.subject)
    stated = held.get("place") or held.get("seen_at")
    place = stated.value if stated is not None else name if sort in ("page", "position") else None
    return (
        nursery,
        finding.survey,
        finding.subject,
        sort,
        name if sort == "structure" else structure_of_place(place or ""),
        place,
        held["status"].value if "status" in held else None,
        _covered(held["coverage"]) if "coverage" in held else None,
        len([slot for slot in held.values() if slot.disputed]),
        _write(body).decode(),
    )


def _covered(coverage: Slot) -> str:
    """Whether somebody vouched for a page, or only said that it was not reached."""
    return "signed_off" if any("alive" in word for word in coverage.value) else "not_reached"


def load_finding(survey: str, subject: str, slots: str) -> Finding:
    """The finding of a row."""
    body = _read_slots(slots)
    return Finding(survey, subject, body.slots, body.missing, body.idle)


def standing_row(nursery: int, standing: Standing) -> tuple[Any, ...]:
    """The row of a standing, in the order of StandingRow's columns."""
    facts = standing.facts
    sort, name = split_subject(standing.subject)
    place, status = standing.value("place"), facts.get("status")
    return (
        nursery,
        standing.subject,
        sort,
        name if sort == "structure" else structure_of_place(place or ""),
        place,
        facts["place"].survey if "place" in facts else None,
        None if status is None else status.value,
        None if status is None else status.survey,
        _state(standing),
        standing.value("genet"),
        standing.value("parent"),
        standing.value("tag"),
        None if standing.value("tag") is None else tag_key(standing.value("tag")),
        _write({name: facts[name] for name in sorted(facts)}).decode(),
    )


def _state(standing: Standing) -> State | None:
    if not standing.subject.startswith("fragment:"):
        return None
    place, status = standing.facts.get("place"), standing.facts.get("status")
    seen, looked = ("", "") if status is None else (status.value, status.survey)
    return state_of(None, "", seen, looked) if place is None else state_of(place.value, place.survey, seen, looked)


def load_standing(subject: str, facts: str) -> Standing:
    """The standing of a row."""
    return Standing(subject, _read_facts(facts))
