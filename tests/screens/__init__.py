"""Tests of the tablet's real screens.

Kivy and SDL read these when they are first imported, here or in a program of its own (pictures.py): no window on a display,
no arguments, no configuration and no log files of the user's.
"""

import os
import tempfile
from pathlib import Path

os.environ.setdefault("SDL_VIDEODRIVER", "offscreen")
# Kivy fills this folder when it is imported: processes that run side by side have each their own.
_called = f"crosstree-kivy{os.environ.get('PYTEST_XDIST_WORKER', '')}"
os.environ.setdefault("KIVY_HOME", str(Path(tempfile.gettempdir()) / _called))
for _name in ("KIVY_NO_ARGS", "KIVY_NO_CONFIG", "KIVY_NO_FILELOG"):
    os.environ.setdefault(_name, "1")
os.environ.setdefault("KIVY_LOG_MODE", "PYTHON")
