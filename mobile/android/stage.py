"""Lays out what goes into the Android package: python mobile/android/stage.py [FOLDER], build/android unless named.

Then, where the Android SDK and NDK are or may be fetched: cd build/android && buildozer android debug.
"""

import runpy
import shutil
import sys
from pathlib import Path

__all__ = ["stage"]

HERE = Path(__file__).parent
ROOT = HERE.parents[1]


def stage(folder: Path) -> None:
    """The program and its two rooms with compiled catalogues, and nothing else, in `folder`, which is made anew."""
    runpy.run_path(str(ROOT / ".ci" / "catalogues.py"))["compile_all"]()
    if folder.exists():
        shutil.rmtree(folder)
    leave_out = shutil.ignore_patterns("__pycache__", "android", "*.po", "py.typed")
    for room in ("mobile", "shared_schema"):
        shutil.copytree(ROOT / room, folder / room, ignore=leave_out)
    for name in ("main.py", "buildozer.spec"):
        shutil.copy(HERE / name, folder / name)


if __name__ == "__main__":
    where = Path(sys.argv[1]) if len(sys.argv) > 1 else ROOT / "build" / "android"
    stage(where)
    sys.stdout.write(f"ready in {where}: cd there, and run buildozer android debug\n")
