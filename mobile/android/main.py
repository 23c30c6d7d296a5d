"""Starts the tablet on Android, where python-for-android looks for a program of this name."""

import os
import sys
from pathlib import Path

from mobile.start import main

__all__ = ["start"]


def start() -> int:
    """Run on the database in the app's own folder, which an update leaves as it is."""
    return main(["--data", str(Path(os.environ["ANDROID_PRIVATE"]) / "tablet.sqlite")])


if __name__ == "__main__":
    sys.exit(start())
