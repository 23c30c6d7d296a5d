"""A backup is one zip file that any database can be restored from: the entries as they were written, who wrote them, photos.

Read tables are not in it: they are folded again. Members: `manifest.json`, `writers.json`, `office.json` (accounts with their
password hashes, and the trail), `entries.ndjson` (a line for each run of entries that arrived together), `photos/<sha256>`.
Codes, links and sessions are left out: they are short-lived.
"""

import hashlib
import json
import os
import zipfile
from collections.abc import Callable, Iterator, Mapping
from itertools import groupby
from pathlib import Path
from typing import Any, Final

from sqlalchemy import Connection, delete, insert, select
from sqlmodel import col

from server.settings import Settings
from server.store.engine import reading, writing
from server.store.models import EntryRow, FindingRow, NurseryRow, PhotoRow, StandingRow, WriterRow
from server.store.office_tables import AccountRow, TrailRow
from server.store.opening import create_nursery, new_office, nursery_of
from server.store.photos import PhotoStore
from server.store.record import RecordStore
from shared_schema.errors import StorageError

__all__ = ["back_up", "restore"]

FORMAT: Final = 1
_OFFICE: Final[Mapping[str, type[AccountRow | TrailRow]]] = {"accounts": AccountRow, "trail": TrailRow}
_RUN: Final = 1_000
_PIECE: Final = 1024 * 1024

Progress = Callable[[int], None]


def back_up(store: RecordStore, photos: PhotoStore, target: Path, progress: Progress = lambda _: None) -> int:
    """Write the whole nursery to one file; gives the number of entries. The server may go on serving meanwhile.

    The file appears only when it is complete. Raises StorageError, and for a target that exists already.
    """
    if target.exists():
        raise StorageError(f"{target} exists already: a backup is never written over; choose another name")
    part = target.with_name(target.name + ".part")
    try:
        with zipfile.ZipFile(part, "w", zipfile.ZIP_DEFLATED) as archive, reading(store.engine) as connection:
            count = _write(archive, connection, store, photos, progress)
        with part.open("rb") as file:
            os.fsync(file.fileno())
        part.replace(target)
    except OSError as error:
        part.unlink(missing_ok=True)
        raise StorageError(f"the backup could not be written to {target}: {error}") from error
    return count


def restore(source: Path, settings: Settings, progress: Progress = lambda _: None) -> RecordStore:
    """Make a new nursery from a backup. The office writes under a new name from then on, and tablets bring what is newer.

    Raises StorageError for a file that is no backup or is damaged, RecordError where the nursery is there already.
    """
    try:
        with zipfile.ZipFile(source) as archive:
            manifest = _manifest(archive, source)
            _verify(archive, manifest, source)
            store = create_nursery(settings, manifest["name"], manifest["demo"], manifest["name_id"])
            try:
                _read_writers(archive, store)
                _read_office(archive, store)
                _read_entries(archive, store, progress)
                _read_photos(archive, PhotoStore(store, settings.photos))
            except BaseException:
                _forget(store)
                raise
    except (OSError, zipfile.BadZipFile, KeyError, ValueError) as error:
        raise StorageError(f"{source} cannot be restored from: {error}") from error
    new_office(store)
    return store


def _forget(store: RecordStore) -> None:
    """Leave nothing of a nursery that came back only in part: it would be taken for whole."""
    with writing(store.engine) as connection:
        for table in (EntryRow, FindingRow, StandingRow, WriterRow, PhotoRow, *_OFFICE.values()):
            connection.execute(delete(table).where(col(table.nursery) == store.nursery))
        connection.execute(delete(NurseryRow).where(col(NurseryRow.id) == store.nursery))


def _write(archive: zipfile.ZipFile, connection: Connection, store: RecordStore, photos: PhotoStore, progress: Progress) -> int:
    nursery = nursery_of(store)
    writers = connection.execute(select(WriterRow.__table__).where(col(WriterRow.nursery) == store.nursery))  # type: ignore[attr-defined]
    archive.writestr("writers.json", json.dumps([dict(row) for row in writers.mappings()]))
    archive.writestr("office.json", json.dumps({name: _rows(connection, store, table) for name, table in _OFFICE.items()}))
    digest, count = hashlib.sha256(), 0
    with archive.open("entries.ndjson", "w", force_zip64=True) as file:
        for line, entries in _runs(connection, store.nursery):
            file.write(line)
            digest.update(line)
            count += entries
            progress(entries)
    names = connection.execute(select(col(PhotoRow.sha256)).where(col(PhotoRow.nursery) == store.nursery)).scalars().all()
    for name in names:
        archive.write(photos.path(name), f"photos/{name}", zipfile.ZIP_STORED)
    manifest = {
        "format": FORMAT,
        "name": nursery.name,
        "name_id": nursery.name_id,
        "demo": bool(nursery.demo),
        "made": store.clock().isoformat(),
        "entries": count,
        "entries_sha256": digest.hexdigest(),
        "photos": len(names),
        "heads": store.heads_in(connection),
    }
    archive.writestr("manifest.json", json.dumps(manifest, indent=2))
    return count


def _rows(connection: Connection, store: RecordStore, table: type[AccountRow | TrailRow]) -> list[dict[str, Any]]:
    rows = connection.execute(select(table.__table__).where(col(table.nursery) == store.nursery))  # type: ignore[union-attr]
    return [dict(row) for row in rows.mappings()]


def _runs(connection: Connection, nursery: int) -> Iterator[tuple[bytes, int]]:
    rows = connection.execute(
        select(col(EntryRow.received), col(EntryRow.via), col(EntryRow.clock_off_s), col(EntryRow.raw))
        .where(col(EntryRow.nursery) == nursery)
        .order_by(col(EntryRow.writer), col(EntryRow.number)),
        execution_options={"yield_per": _RUN},
    )
    for arrival, together in groupby(rows, key=lambda row: (row.received, row.via, row.clock_off_s)):
        lines = [row.raw.decode() for row in together]
        for start in range(0, len(lines), _RUN):
            some = lines[start : start + _RUN]
            yield json.dumps([*arrival, some], ensure_ascii=False).encode() + b"\n", len(some)


def _manifest(archive: zipfile.ZipFile, source: Path) -> dict[str, Any]:
    if "manifest.json" not in archive.namelist():
        raise StorageError(f"{source} is a zip file and no backup of a nursery: it has no manifest.json")
    manifest: dict[str, Any] = json.loads(archive.read("manifest.json"))
    if manifest["format"] > FORMAT:
        raise StorageError(f"{source} is a backup of format {manifest['format']}, and this program knows {FORMAT}: update it")
    return manifest


def _verify(archive: zipfile.ZipFile, manifest: dict[str, Any], source: Path) -> None:
    digest = hashlib.sha256()
    with archive.open("entries.ndjson") as file:
        while piece := file.read(_PIECE):
            digest.update(piece)
    if digest.hexdigest() != manifest["entries_sha256"]:
        raise StorageError(f"{source} is damaged: its entries are not those that were written; nothing was restored")


def _read_writers(archive: zipfile.ZipFile, store: RecordStore) -> None:
    rows = [row | {"nursery": store.nursery, "head": 0} for row in json.loads(archive.read("writers.json"))]
    if rows:
        with writing(store.engine) as connection:
            connection.execute(WriterRow.__table__.insert(), rows)  # type: ignore[attr-defined]


def _read_office(archive: zipfile.ZipFile, store: RecordStore) -> None:
    if "office.json" not in archive.namelist():
        return  # from before there were accounts
    with writing(store.engine) as connection:
        for name, rows in json.loads(archive.read("office.json")).items():
            if rows:
                connection.execute(insert(_OFFICE[name]), [row | {"nursery": store.nursery} for row in rows])


def _read_entries(archive: zipfile.ZipFile, store: RecordStore, progress: Progress) -> None:
    with archive.open("entries.ndjson") as file:
        for line in file:
            received, via, clock_off_s, entries = json.loads(line)
            store.receive([entry.encode() for entry in entries], via, received, clock_off_s)
            progress(len(entries))


def _read_photos(archive: zipfile.ZipFile, photos: PhotoStore) -> None:
    for name in archive.namelist():
        if name.startswith("photos/"):
            size = archive.getinfo(name).file_size
            with archive.open(name) as file:
                offset = 0
                while piece := file.read(_PIECE):
                    offset = photos.add(name.removeprefix("photos/"), offset, size, piece).have
