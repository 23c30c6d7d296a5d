"""Photos: files named by the SHA-256 of their bytes in a folder beside the database, and which of them are still to be sent."""

import hashlib
import os
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from typing import Final, Literal, TypeAlias

from mobile.database import Database
from shared_schema.errors import LimitExceeded, SchemaError, StorageError
from shared_schema.wire import MAX_PHOTO

__all__ = ["MediaType", "Photo", "PhotoShelf"]

MediaType: TypeAlias = Literal["image/jpeg", "image/png", "image/webp"]

_BEGINNINGS: Final[tuple[tuple[bytes, int, MediaType], ...]] = (
    (b"\xff\xd8\xff", 0, "image/jpeg"),
    (b"\x89PNG\r\n\x1a\n", 0, "image/png"),
    (b"WEBP", 8, "image/webp"),
)


@dataclass(frozen=True, slots=True)
class Photo:
    """A photo that is kept: its name, its size in bytes, and what its bytes are."""

    sha256: str
    size: int
    media_type: MediaType


class PhotoShelf:
    """The photos of one tablet. A photo is whole on disk before anything speaks of it."""

    def __init__(self, database: Database) -> None:
        self._database = database
        self.folder = database.path.with_name(f"{database.path.name}-photos")

    def keep(self, content: bytes, now: datetime) -> Photo:
        """Keep a photo and queue it for the server; keeping it again changes nothing.

        Raises SchemaError where it is no JPEG, PNG or WebP, LimitExceeded where it is too large, StorageError for the disk.
        """
        media_type = _media_type(content)
        if len(content) > MAX_PHOTO:
            raise LimitExceeded(f"a photo of {len(content)} bytes is over the limit of {MAX_PHOTO}: take a smaller one")
        sha256 = hashlib.sha256(content).hexdigest()
        path = self.path(sha256)
        if not path.exists():
            _write_whole(path, content)
        with self._database.writing():
            self._database.run(
                "INSERT INTO photo (sha256, size, taken) VALUES (?, ?, ?) ON CONFLICT (sha256) DO NOTHING",
                (sha256, len(content), now.isoformat()),
            )
        return Photo(sha256, len(content), media_type)

    def path(self, sha256: str) -> Path:
        """Where a photo is, if it is here."""
        return self.folder / sha256

    def waiting(self) -> tuple[tuple[str, int], ...]:
        """(SHA-256, size) of the photos that the server does not have whole, oldest first."""
        rows = self._database.rows("SELECT sha256, size FROM photo WHERE sent = 0 ORDER BY taken, sha256")
        return tuple((sha256, size) for sha256, size in rows)

    def mark_sent(self, sha256: str) -> None:
        """The server has it whole and checked."""
        with self._database.writing():
            self._database.run("UPDATE photo SET sent = 1 WHERE sha256 = ?", (sha256,))

    def give_up(self, sha256: str) -> None:
        """Its bytes are lost: nobody can send it any more."""
        with self._database.writing():
            self._database.run("UPDATE photo SET sent = 2 WHERE sha256 = ?", (sha256,))


def _media_type(content: bytes) -> MediaType:
    for beginning, start, media_type in _BEGINNINGS:
        if content[start : start + len(beginning)] == beginning:
            return media_type
    raise SchemaError(f"a file that begins with {content[:8]!r} is no photo: take a JPEG, PNG or WebP")


def _write_whole(path: Path, content: bytes) -> None:
    """Write a file that is either not there or whole and on disk, whenever the power fails."""
    part = path.with_suffix(".part")
    try:
        path.parent.mkdir(exist_ok=True)
        with part.open("wb") as file:
            file.write(content)
            file.flush()
            os.fsync(file.fileno())
        part.replace(path)
        folder = os.open(path.parent, os.O_RDONLY)
        try:
            os.fsync(folder)
        finally:
            os.close(folder)
    except OSError as error:
        part.unlink(missing_ok=True)
        raise StorageError(f"{path} could not be written: {error}: make room on the disk and take it again") from error
