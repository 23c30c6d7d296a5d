"""Photos by the SHA-256 of their bytes. They arrive in pieces, are checked when whole, and only then count as here."""

import hashlib
import os
import re
from pathlib import Path

from sqlalchemy import select
from sqlmodel import col

from server.store.bulk import upsert_rows
from server.store.engine import reading, writing
from server.store.models import PhotoRow
from server.store.record import RecordStore
from shared_schema.errors import BadId, HashMismatch, LimitExceeded, NothingSuch, StorageError
from shared_schema.wire import MAX_PHOTO, MAX_PIECE, PhotoState

__all__ = ["PhotoStore"]

_SHA256 = re.compile("[0-9a-f]{64}")


class PhotoStore:
    """The photo folder of one nursery: `<folder>/<first two letters>/<sha256>`, and `.part` while it arrives."""

    def __init__(self, store: RecordStore, folder: Path) -> None:
        self._store, self._folder = store, folder / str(store.nursery)

    def state(self, sha256: str) -> PhotoState:
        """How much of a photo is here. Raises BadId."""
        if self._held(sha256) is not None:
            return PhotoState(sha256=sha256, have=self._path(sha256).stat().st_size, complete=True)
        part = self._part(sha256)
        return PhotoState(sha256=sha256, have=part.stat().st_size if part.exists() else 0, complete=False)

    def add(self, sha256: str, offset: int, total: int, piece: bytes) -> PhotoState:
        """Take the piece that begins at byte `offset` of a photo of `total` bytes.

        A piece that is here already changes nothing; one that lies further on is not taken: the state says from where to
        send. Raises BadId, LimitExceeded, HashMismatch (all of it is thrown away), StorageError.
        """
        if total > MAX_PHOTO or len(piece) > MAX_PIECE:
            raise LimitExceeded(
                f"photo {sha256} of {total} bytes in pieces of {len(piece)}: at most {MAX_PHOTO} in pieces of {MAX_PIECE}"
            )
        state = self.state(sha256)
        if state.complete or offset != state.have or offset + len(piece) > total or not piece:
            return state
        try:
            self._append(sha256, offset, piece)
            if offset + len(piece) < total:
                return PhotoState(sha256=sha256, have=offset + len(piece), complete=False)
            self._finish(sha256, total)
        except OSError as error:
            raise StorageError(f"photo {sha256} could not be stored: {error}") from error
        return PhotoState(sha256=sha256, have=total, complete=True)

    def path(self, sha256: str) -> Path:
        """The file of a photo that is here. Raises NothingSuch, BadId."""
        if self._held(sha256) is None:
            raise NothingSuch("photo %(name)s is not here (yet): the tablet that took it sends it after its entries", name=sha256)
        return self._path(sha256)

    def damage(self) -> list[str]:
        """What is wrong with the photos that should be here, in words, a photo a line."""
        with reading(self._store.engine) as connection:
            names = (
                connection.execute(select(col(PhotoRow.sha256)).where(col(PhotoRow.nursery) == self._store.nursery)).scalars().all()
            )
        wrong = []
        for name in names:
            path = self._path(name)
            if not path.exists():
                wrong.append(f"photo {name} is missing from {path.parent}")
            elif _sha256(path) != name:
                wrong.append(f"photo {name} is damaged: its bytes have another SHA-256")
        return wrong

    def _append(self, sha256: str, offset: int, piece: bytes) -> None:
        part = self._part(sha256)
        part.parent.mkdir(parents=True, exist_ok=True)
        with part.open("r+b" if part.exists() else "w+b") as file:
            file.seek(offset)
            file.write(piece)
            file.truncate()
            file.flush()
            os.fsync(file.fileno())

    def _finish(self, sha256: str, total: int) -> None:
        part = self._part(sha256)
        found = _sha256(part)
        if found != sha256:
            part.unlink()
            raise HashMismatch(
                f"photo {sha256}: the {total} bytes that came have SHA-256 {found}; they were thrown away, send it again"
            )
        part.replace(self._path(sha256))
        row = (self._store.nursery, sha256, total, int(self._store.clock().timestamp() * 1000))
        with writing(self._store.engine) as connection:
            upsert_rows(connection, PhotoRow, [row])

    def _held(self, sha256: str) -> str | None:
        if not _SHA256.fullmatch(sha256):
            raise BadId("%(name)r names no photo: a SHA-256 in 64 small hexadecimal digits does", name=sha256[:80])
        with reading(self._store.engine) as connection:
            return connection.execute(
                select(col(PhotoRow.sha256)).where(col(PhotoRow.nursery) == self._store.nursery, col(PhotoRow.sha256) == sha256)
            ).scalar_one_or_none()

    def _path(self, sha256: str) -> Path:
        return self._folder / sha256[:2] / sha256

    def _part(self, sha256: str) -> Path:
        return self._path(sha256).with_suffix(".part")


def _sha256(path: Path) -> str:
    with path.open("rb") as file:
        return hashlib.file_digest(file, "sha256").hexdigest()
