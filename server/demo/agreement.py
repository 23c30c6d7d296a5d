"""Whether tablets and server show the same: hashes of all findings that a tablet holds, folded by each for itself."""

import hashlib
import json
from collections.abc import Iterable
from typing import Any

from sqlalchemy import select
from sqlmodel import col

from server.settings import Settings
from server.store.bulk import in_chunks
from server.store.engine import reading
from server.store.folding import load_finding
from server.store.models import FindingRow
from server.store.packs import PackStore
from server.store.record import RecordStore
from shared_schema.entries import read_entry
from shared_schema.fold import Finding
from shared_schema.ids import Heads
from shared_schema.wire import MAX_PACK, PackHeader, unframe

__all__ = ["Taken", "as_shown", "server_digest", "take_along"]

Group = tuple[str, str]


class Taken:
    """What a tablet holds from the start: the groups of a pack, and how far the record had come."""

    def __init__(self, groups: set[Group], heads: Heads) -> None:
        self.groups, self.heads = groups, heads


def take_along(store: RecordStore, settings: Settings, survey: str, structures: Iterable[str]) -> Taken:
    """What the pack of these structures holds."""
    packs = PackStore(store, settings.packs)
    manifest = packs.make(survey, tuple(structures))
    header, lines = unframe(packs.path(manifest.pack).read_bytes(), PackHeader, MAX_PACK)
    return Taken(_groups(lines), dict(header.heads))


def as_shown(folded: str, heads: Heads) -> str:
    """What somebody holds (heads) and what they make of it (the hash of their findings), to be compared."""
    return " ".join([folded, *(f"{writer}:{number}" for writer, number in sorted(heads.items()))])


def server_digest(store: RecordStore, taken: Taken) -> str:
    """The hash that a tablet in step gives of what it shows, from the server's own read tables."""
    groups = set(taken.groups)
    heads, more = dict(taken.heads), True
    while more:
        lines, more = store.lines_after(heads, 5_000)
        groups |= _groups(lines)
        for line in lines:
            writer, number = read_entry(line).entry_id
            heads[writer] = max(number, heads.get(writer, 0))
    hashed = hashlib.sha256()
    for finding in sorted(_findings(store, groups), key=lambda one: (one.subject, one.survey)):
        hashed.update(json.dumps(_plain(finding), sort_keys=True, separators=(",", ":")).encode() + b"\n")
    return hashed.hexdigest()


def _groups(lines: Iterable[bytes]) -> set[Group]:
    return {read_entry(line).group for line in lines}


def _findings(store: RecordStore, groups: set[Group]) -> Iterable[Finding]:
    with reading(store.engine) as connection:
        for survey in sorted({survey for survey, _ in groups}):
            subjects = sorted(subject for of, subject in groups if of == survey)
            for some in in_chunks(subjects):
                rows = connection.execute(
                    select(col(FindingRow.subject), col(FindingRow.slots)).where(
                        col(FindingRow.nursery) == store.nursery,
                        col(FindingRow.survey) == survey,
                        col(FindingRow.subject).in_(some),
                    )
                )
                yield from [load_finding(survey, subject, slots) for subject, slots in rows]


def _plain(finding: Finding) -> dict[str, Any]:
    slots = {name: [slot.value, slot.heads, slot.disputed, slot.ruled] for name, slot in sorted(finding.slots.items())}
    return {
        "survey": finding.survey,
        "subject": finding.subject,
        "slots": slots,
        "missing": finding.missing,
        "idle": finding.idle,
    }
