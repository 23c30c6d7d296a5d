"""A place for databases that a test throws away."""

import os
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

__all__ = ["scratch_folder"]

_MEMORY = "/dev/shm"


@contextmanager
def scratch_folder() -> Iterator[Path]:
    """A folder in memory where there is one: for tests that do not ask what a power cut leaves. Syncing a disk takes long."""
    with tempfile.TemporaryDirectory(prefix="crosstree-", dir=_MEMORY if os.access(_MEMORY, os.W_OK) else None) as folder:
        yield Path(folder)
