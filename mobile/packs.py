"""Packs: files with all that matters for some structures, read into the store once their hash is right."""

import hashlib
import json
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path

from mobile.store import Added, Store
from shared_schema.errors import HashMismatch, IdentityClash, StorageError, WireError
from shared_schema.ids import EntryId
from shared_schema.wire import MAX_PACK, PackHeader, PackManifest, check_protocol, unframe

__all__ = ["LoadedPack", "Packs"]


@dataclass(frozen=True, slots=True)
class LoadedPack:
    """A pack that was checked against its SHA-256 and read in whole."""

    sha256: str
    survey: str
    structures: tuple[str, ...]
    entries: int
    size: int
    loaded: datetime


class Packs:
    """The packs of one tablet."""

    def __init__(self, store: Store) -> None:
        self._store = store

    @property
    def all(self) -> tuple[LoadedPack, ...]:
        """Oldest first."""
        rows = self._store.database.rows("SELECT sha256, survey, structures, entries, size, loaded FROM pack ORDER BY loaded")
        return tuple(
            LoadedPack(sha256, survey, tuple(json.loads(structures)), entries, size, datetime.fromisoformat(loaded))
            for sha256, survey, structures, entries, size, loaded in rows
        )

    @property
    def structures(self) -> frozenset[str]:
        """The structures of all packs that were loaded."""
        return frozenset(name for pack in self.all for name in pack.structures)

    def part(self, manifest: PackManifest) -> Path:
        """Where the bytes of a pack gather, beside the database."""
        return self._store.path.with_name(f"{self._store.path.name}-{manifest.pack}.part")

    def load(self, manifest: PackManifest, now: datetime) -> Added:
        """Read a fetched pack in, in one transaction, and let its file go.

        Raises HashMismatch where its bytes are not what was promised (they are thrown away), WireError where it is of
        another nursery or incomplete, IdentityClash where it shows that this tablet has a twin.
        """
        path = self.part(manifest)
        body = _checked(path, manifest)
        header, lines = unframe(body, PackHeader, MAX_PACK)
        check_protocol(header.protocol, "the server")
        own = self._store.identities.own
        if header.nursery != own.nursery or header.entries != len(lines):
            raise WireError(
                f"pack {manifest.pack} holds {len(lines)} entries of nursery {header.nursery}, and {header.entries} of "
                f"{own.nursery} were promised: ask for a new one"
            )
        with self._store.database.writing():
            last = self._store.last(own.writer)
            if header.heads.get(own.writer, 0) > last:
                raise IdentityClash(str(EntryId(own.writer, last + 1)))
            added = self._store.add(lines)
            if self._covers(header):
                self._store.raise_heads(header.heads)
            self._store.database.run(
                "INSERT OR REPLACE INTO pack (sha256, survey, structures, entries, size, loaded) VALUES (?, ?, ?, ?, ?, ?)",
                (manifest.pack, header.survey, json.dumps(header.structures), header.entries, len(body), now.isoformat()),
            )
        path.unlink(missing_ok=True)
        return added

    def _covers(self, header: PackHeader) -> bool:
        """Whether the pack speaks for all that this tablet is to know, so that its heads may be taken over.

        A tablet that never loaded a pack and has others' entries got them by exchange: it knows every structure, and
        would lose sight of what happened on those that are not in the pack.
        """
        if self._store.database.rows("SELECT 1 FROM pack LIMIT 1"):
            return self.structures <= set(header.structures)
        own = self._store.identities.own.writer
        return all(writer == own for writer in self._store.heads())


def _checked(path: Path, manifest: PackManifest) -> bytes:
    try:
        body = path.read_bytes()
    except OSError as error:
        raise StorageError(f"{path} could not be read: {error}: fetch the pack again") from error
    found = hashlib.sha256(body).hexdigest()
    if found != manifest.pack:
        path.unlink(missing_ok=True)
        raise HashMismatch(f"the pack has SHA-256 {found}, and {manifest.pack} was promised: it was thrown away, fetch it again")
    return body
