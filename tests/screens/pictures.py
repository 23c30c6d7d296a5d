"""Pictures of the screens, to be looked at: python -m tests.screens.pictures FOLDER."""

import subprocess
import sys
from pathlib import Path

from tests.screens.harness import GLASSES, Glass, Stage, staged
from tests.screens.layers import LAYERS
from tests.screens.samples import crowded_table, long_line, tree_in_work

DESKS = {"page": tree_in_work, "line": long_line, "table": crowded_table}


def take(folder: Path, glass: Glass, theme: str, language: str) -> None:
    """Every screen on one glass, in one theme and language."""
    folder.mkdir(parents=True, exist_ok=True)
    tail = f"{glass.width}x{glass.height}-{theme}-{language}.png"
    for name, desk in DESKS.items():
        with staged(desk(), glass, theme=theme, language=language) as stage:
            stage.picture(folder / f"{name}-{tail}")
            if name == "page":
                take_layers(stage, folder, tail)
                take_settings(stage, folder, tail)


def take_layers(stage: Stage, folder: Path, tail: str) -> None:
    """What may lie over a screen."""
    for make in LAYERS:
        layer = make()
        stage.app.shell.lay_over(layer)
        stage.frames(6)
        stage.picture(folder / f"{make.__name__}-{tail}")
        stage.app.shell.lift(layer)


def take_settings(stage: Stage, folder: Path, tail: str) -> None:
    """The settings, and the measuring of the glass."""
    stage.tap("back")
    stage.picture(folder / f"settings-{tail}")
    stage.tap("calibrate")
    stage.picture(folder / f"calibrate-{tail}")


def main() -> None:
    """All of them; a window in memory keeps the size it opened with, so that each glass has a process of its own."""
    folder, *which = sys.argv[1:]
    if not which:
        for number in range(2):
            subprocess.run([sys.executable, "-m", "tests.screens.pictures", folder, str(number)], check=True)
        return
    for theme in ("bright", "cabin"):
        for language in ("en", "es"):
            take(Path(folder), GLASSES[int(which[0])], theme, language)


if __name__ == "__main__":
    main()
