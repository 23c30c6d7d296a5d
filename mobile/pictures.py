"""Photos that a camera left on this machine, to choose one where the tablet has no camera of its own."""

import os
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path
from typing import Final

__all__ = ["Picture", "recent_pictures", "usual_folders"]

_ENDINGS: Final = (".jpg", ".jpeg", ".png", ".webp")
_DEEPEST: Final = 2
_MOST: Final = 60


@dataclass(frozen=True, slots=True)
class Picture:
    """A file, when it was taken or put there, and its bytes."""

    path: Path
    when: datetime
    size: int


def usual_folders() -> tuple[Path, ...]:
    """Where cameras and people put photos, on a desktop and on Android."""
    home = Path.home()
    return (home / "Pictures", home / "DCIM", home / "Downloads", Path("/sdcard/DCIM"), Path("/sdcard/Pictures"))


def recent_pictures(folders: Iterable[Path]) -> tuple[Picture, ...]:
    """The latest sixty photos in folders and what lies in them; what cannot be read is passed over."""
    found = {picture.path: picture for folder in folders for picture in _in(folder, _DEEPEST)}
    return tuple(sorted(found.values(), key=lambda picture: picture.when, reverse=True)[:_MOST])


def _in(folder: Path, deep: int) -> Iterator[Picture]:
    try:
        entries = list(os.scandir(folder))
    except OSError:
        return
    for entry in entries:
        try:
            if entry.is_dir(follow_symlinks=False) and deep and not entry.name.startswith("."):
                yield from _in(Path(entry.path), deep - 1)
            elif entry.name.lower().endswith(_ENDINGS) and entry.is_file():
                found = entry.stat()
                yield Picture(Path(entry.path), datetime.fromtimestamp(found.st_mtime, UTC), found.st_size)
        except OSError:
            continue
