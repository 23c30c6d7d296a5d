"""Packs: what a tablet needs to know before a dive, as a file that can be fetched in pieces.

A pack holds entries, nothing else, so that a tablet folds them as it folds everything. It holds the standing facts of
the nursery (genets, people, surveys, the structures asked for), and for each fragment that hangs on one of them: every
entry of the groups that its standing rests on, so that what is settled there is settled on the tablet too, and every
entry of the survey itself; and of each page what the last survey before said, so that a crew knows where nobody got to.
What older surveys said and later ones overrode stays behind: that is most of it.
"""

import hashlib
import json
import os
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from pathlib import Path

from sqlalchemy import Connection, bindparam, func, select
from sqlmodel import col

from server.store.bulk import in_chunks
from server.store.engine import reading
from server.store.models import EntryRow, FindingRow, NurseryRow, StandingRow
from server.store.record import RecordStore
from shared_schema.errors import BadId, NothingSuch, StorageError
from shared_schema.wire import PROTOCOL, PackHeader, PackManifest, frame

__all__ = ["PackStore"]

Group = tuple[str, str]

_KEPT = 40


@dataclass(frozen=True, slots=True)
class _Content:
    header: PackHeader
    lines: list[bytes]


class PackStore:
    """Makes packs and keeps the latest ones as files named by their SHA-256."""

    def __init__(self, store: RecordStore, folder: Path) -> None:
        self._store, self._folder = store, folder / str(store.nursery)

    def make(self, survey: str, structures: Sequence[str] = ()) -> PackManifest:
        """Make the pack of these structures for this survey; without structures, of all that the survey names, or all.

        Raises NothingSuch for a structure or survey that is not in the record, StorageError.
        """
        content = self._collect(survey, structures)
        body = frame(content.header, content.lines, level=9)
        name = hashlib.sha256(body).hexdigest()
        self._keep(name, body)
        return PackManifest(
            protocol=PROTOCOL,
            nursery=content.header.nursery,
            pack=name,
            size=len(body),
            entries=content.header.entries,
            survey=survey,
            structures=content.header.structures,
            clock=self._store.clock(),
        )

    def path(self, pack: str) -> Path:
        """The file of a pack. Raises NothingSuch where it was never made or is no longer kept, BadId."""
        if len(pack) != 64 or not set(pack) <= set("0123456789abcdef"):
            raise BadId(f"{pack[:80]!r} names no pack: the SHA-256 of its manifest does")
        path = self._folder / pack
        if not path.exists():
            raise NothingSuch(f"pack {pack} is not kept here (any longer): ask for a new one")
        return path

    def _collect(self, survey: str, structures: Sequence[str]) -> _Content:
        with reading(self._store.engine) as connection:
            nursery, heads = self._store.nursery, self._store.heads_in(connection)
            chosen = self._chosen(connection, survey, structures)
            groups = self._registry(connection, chosen)
            fragments = self._hanging(connection, chosen)
            groups |= {(held, subject) for subject, facts in fragments for held, _, _ in json.loads(facts).values()}
            groups |= self._of_survey(connection, survey, chosen, {subject for subject, _ in fragments})
            groups |= self._pages_before(connection, survey, chosen)
            name = connection.execute(select(col(NurseryRow.name_id)).where(col(NurseryRow.id) == nursery)).scalar_one()
            lines = self._lines(connection, groups)
        header = PackHeader(
            protocol=PROTOCOL, nursery=name, survey=survey, structures=tuple(chosen), heads=heads, entries=len(lines)
        )
        return _Content(header, lines)

    def _chosen(self, connection: Connection, survey: str, structures: Sequence[str]) -> list[str]:
        rows = connection.execute(
            select(col(StandingRow.subject), col(StandingRow.facts)).where(
                col(StandingRow.nursery) == self._store.nursery, col(StandingRow.sort).in_(["structure", "survey"])
            )
        ).all()
        facts = {subject: json.loads(text) for subject, text in rows}
        known = sorted(subject.removeprefix("structure:") for subject in facts if subject.startswith("structure:"))
        if survey and f"survey:{survey}" not in facts:
            raise NothingSuch(f"survey {survey!r} is not planned: plan it first, or choose another")
        for name in structures:
            if name not in known:
                some = ", ".join(known[:12]) + (" ..." if len(known) > 12 else "")
                raise NothingSuch(f"there is no structure {name!r}: this nursery has {some or 'none'}")
        planned = facts.get(f"survey:{survey}", {}).get("structures", ["", [], 0])[1]
        return sorted(set(structures or planned or known) & set(known))

    def _registry(self, connection: Connection, chosen: Iterable[str]) -> set[Group]:
        rows = connection.execute(
            select(col(FindingRow.survey), col(FindingRow.subject)).where(
                col(FindingRow.nursery) == self._store.nursery,
                col(FindingRow.sort).in_(["genet", "person", "survey", "structure"]),
            )
        )
        wanted = {f"structure:{name}" for name in chosen}
        return {(survey, subject) for survey, subject in rows if not subject.startswith("structure:") or subject in wanted}

    def _hanging(self, connection: Connection, chosen: Sequence[str]) -> list[tuple[str, str]]:
        statement = select(col(StandingRow.subject), col(StandingRow.facts)).where(
            col(StandingRow.nursery) == self._store.nursery,
            col(StandingRow.structure).in_(bindparam("some", expanding=True)),
            col(StandingRow.sort) == "fragment",
        )
        return [
            (row.subject, row.facts) for some in in_chunks(chosen) for row in connection.execute(statement, {"some": list(some)})
        ]

    def _of_survey(self, connection: Connection, survey: str, chosen: Sequence[str], fragments: set[str]) -> set[Group]:
        rows = connection.execute(
            select(col(FindingRow.subject), col(FindingRow.structure)).where(
                col(FindingRow.nursery) == self._store.nursery, col(FindingRow.survey) == survey
            )
        )
        wanted = set(chosen)
        return {(survey, subject) for subject, structure in rows if structure in wanted or subject in fragments}

    def _pages_before(self, connection: Connection, survey: str, chosen: Sequence[str]) -> set[Group]:
        found: set[Group] = set()
        for name in chosen:
            rows = connection.execute(
                select(col(FindingRow.subject), func.max(col(FindingRow.survey)).label("last"))
                .where(
                    col(FindingRow.nursery) == self._store.nursery,
                    col(FindingRow.subject) >= f"page:{name}/",
                    col(FindingRow.subject) < f"page:{name}0",  # 0 comes after /
                    col(FindingRow.survey) < survey,
                )
                .group_by(col(FindingRow.subject))
            )
            found |= {(row.last, row.subject) for row in rows}
        return found

    def _lines(self, connection: Connection, groups: set[Group]) -> list[bytes]:
        by_survey: dict[str, list[str]] = {}
        for survey, subject in sorted(groups):
            by_survey.setdefault(survey, []).append(subject)
        statement = select(col(EntryRow.writer), col(EntryRow.number), col(EntryRow.raw)).where(
            col(EntryRow.nursery) == self._store.nursery,
            col(EntryRow.survey) == bindparam("survey"),
            col(EntryRow.subject).in_(bindparam("subjects", expanding=True)),
            col(EntryRow.set_aside).is_(None),
        )
        found: list[tuple[str, int, bytes]] = []
        for survey, subjects in by_survey.items():
            for some in in_chunks(subjects):
                rows = connection.execute(statement, {"survey": survey, "subjects": list(some)})
                found += [(row.writer, row.number, row.raw) for row in rows]
        return [raw for _, _, raw in sorted(found)]

    def _keep(self, name: str, body: bytes) -> None:
        try:
            self._folder.mkdir(parents=True, exist_ok=True)
            part = self._folder / f"{name}.{os.getpid()}.part"
            part.write_bytes(body)
            part.replace(self._folder / name)
            old = sorted(self._folder.glob("[0-9a-f]" * 64), key=lambda path: path.stat().st_mtime, reverse=True)[_KEPT:]
            for path in old:
                path.unlink(missing_ok=True)
        except OSError as error:
            raise StorageError(f"the pack could not be kept in {self._folder}: {error}") from error
