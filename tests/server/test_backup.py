"""Backups: one file, from which any database can be restored."""

import hashlib
import zipfile
from datetime import UTC, datetime
from pathlib import Path

import pytest

from server.settings import Settings
from server.store.backup import back_up, restore
from server.store.checking import check_record
from server.store.opening import nursery_of
from server.store.photos import PhotoStore
from server.store.record import RecordStore
from server.store.tablets import enrol, new_code, who_holds
from shared_schema.author import Author
from shared_schema.entries import ConditionSeen, GenetRegistered, write_entry
from shared_schema.errors import StorageError

Nursery = tuple[Settings, RecordStore]

PICTURE = b"\xff\xd8 not much of a picture"


@pytest.fixture
def backup(nursery: Nursery, tmp_path: Path) -> Path:
    """A backup of a nursery with a tablet, office and tablet entries, one set aside, and a photo."""
    settings, store = nursery
    me = enrol(store, new_code(store)[0], "Blue tablet")
    (tmp_path / "token").write_text(me.token)
    with store.office("sue") as office:
        office.write(GenetRegistered, "genet:G1", name="Uno Ñandú")
    author = Author(me.writer, 0, "ana", lambda: datetime(2026, 11, 20, 9, tzinfo=UTC))
    for number in range(30):
        author.write(ConditionSeen, f"fragment:F{number}", "2026-11", status="alive")
    lines = [write_entry(entry) for entry in author.written]
    store.receive([*lines, f'{{"id":"{me.writer}-31","kind":"sound_heard"}}'.encode()], me.writer, 1_700_000_000_000, 42)
    PhotoStore(store, settings.photos).add(hashlib.sha256(PICTURE).hexdigest(), 0, len(PICTURE), PICTURE)
    target = tmp_path / "backup.zip"
    assert back_up(store, PhotoStore(store, settings.photos), target) == 32
    return target


def test_a_restored_nursery_is_the_same_nursery(nursery: Nursery, backup: Path, tmp_path: Path) -> None:
    """Entries byte for byte with when and how they came, tablets with their tokens, photos; the office under a new name."""
    _, before = nursery
    settings = Settings.of(tmp_path / "fresh", f"sqlite:///{tmp_path / 'fresh' / 'crosstree.sqlite'}")
    after = restore(backup, settings)
    assert after.lines_after({}, 100) == before.lines_after({}, 100)
    assert after.entries_of("2026-11", "fragment:F3") == before.entries_of("2026-11", "fragment:F3")
    assert nursery_of(after).name_id == nursery_of(before).name_id
    assert nursery_of(after).office != nursery_of(before).office
    assert who_holds(after, (tmp_path / "token").read_text()) == who_holds(before, (tmp_path / "token").read_text())
    photos = PhotoStore(after, settings.photos)
    assert photos.path(hashlib.sha256(PICTURE).hexdigest()).read_bytes() == PICTURE
    assert photos.damage() == []
    check = check_record(after)
    assert check.wrong == ()
    assert len(check.remarks) == 1
    after.engine.dispose()


def test_a_damaged_backup_restores_nothing(backup: Path, tmp_path: Path) -> None:
    """Junk, a cut-off file, changed entries and a foreign zip file are each told from a backup."""
    whole = backup.read_bytes()
    (tmp_path / "junk").write_bytes(b"nothing")
    (tmp_path / "cut").write_bytes(whole[: len(whole) // 2])
    with zipfile.ZipFile(tmp_path / "foreign", "w") as archive:
        archive.writestr("letter.txt", "hello")
    with zipfile.ZipFile(backup) as old, zipfile.ZipFile(tmp_path / "changed", "w") as new:
        for name in old.namelist():
            content = old.read(name)
            new.writestr(name, content.replace(b"alive", b"dying") if name == "entries.ndjson" else content)
    for name in ("junk", "cut", "foreign", "changed"):
        fresh = Settings.of(tmp_path / f"from-{name}", f"sqlite:///{tmp_path / f'from-{name}' / 'crosstree.sqlite'}")
        with pytest.raises(StorageError, match=name):
            restore(tmp_path / name, fresh)
        assert not fresh.data.exists()


def test_a_backup_is_never_written_over(nursery: Nursery, backup: Path) -> None:
    """Last month's backup may be the one that is needed."""
    settings, store = nursery
    before = backup.read_bytes()
    with pytest.raises(StorageError, match="exists already"):
        back_up(store, PhotoStore(store, settings.photos), backup)
    assert backup.read_bytes() == before


def test_damage_to_photos_is_told(nursery: Nursery, backup: Path) -> None:
    """A missing photo and one whose bytes changed."""
    settings, store = nursery
    assert backup.exists()
    photos = PhotoStore(store, settings.photos)
    path = photos.path(hashlib.sha256(PICTURE).hexdigest())
    path.write_bytes(b"other")
    assert "damaged" in photos.damage()[0]
    path.unlink()
    assert "missing" in photos.damage()[0]


def test_a_restore_that_breaks_off_leaves_no_half_nursery(backup: Path, tmp_path: Path) -> None:
    """It can simply be tried again."""

    def interrupt(_count: int) -> None:
        raise KeyboardInterrupt

    fresh = Settings.of(tmp_path / "fresh", f"sqlite:///{tmp_path / 'fresh' / 'crosstree.sqlite'}")
    with pytest.raises(KeyboardInterrupt):
        restore(backup, fresh, interrupt)
    store = restore(backup, fresh)
    assert sum(store.heads().values()) == 32
    store.engine.dispose()
