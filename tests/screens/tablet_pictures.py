"""The pictures of docs/on-the-tablet.md, each screen as in use: python -m tests.screens.tablet_pictures [FOLDER].

A folder for each size, theme and language, all beneath docs/pictures/tablet unless another folder is named.
"""

import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator
from itertools import product
from pathlib import Path
from typing import Any, Final

import numpy as np
from PIL import Image
from pydantic import JsonValue

from mobile.battery import Battery
from mobile.day import Day
from mobile.lights import light_up
from mobile.store import Store
from mobile.training import SLATES
from shared_schema.entries import BaseEntry, ConditionSeen, UpkeepDone
from tests.mobile.nursery import NOW, SURVEY, Ticking
from tests.screens.before_dives import BARE, FOUND_BEFORE, two_who_differ
from tests.screens.dive_stage import DiveStage, dive_staged
from tests.screens.harness import TABLET, TABLET_FINE, Glass, Stage, staged
from tests.screens.samples import untouched_tree
from tests.words import catalogues

__all__ = ["screens"]

HERE: Final = Path(__file__).parents[2] / "docs" / "pictures" / "tablet"
GLASSES: Final = (TABLET, TABLET_FINE)
COLOURS: Final = 48
SETTLED_S: Final = 0.5
"""A page's map takes its colours a moment after the page."""


def elsewhere_said() -> list[BaseEntry]:
    """What two other boats entered before."""
    ben, chloe = two_who_differ()
    for fragment, status in (("F-T07-3.1.4", "lost"), ("F-T08-2.2.2", "fading")):
        ben.write(ConditionSeen, f"fragment:{fragment}", SURVEY, status=status)
    ben.write(UpkeepDone, "structure:T08", "2026-08", work=("cleaned",))
    return [*ben.written, *chloe.written]


def screens(folder: Path, glass: Glass, **preferences: Any) -> Iterator[tuple[str, Stage]]:
    """Every screen, in the order of a day, with its name."""
    path = folder / "new.sqlite"
    with Store(path) as store, staged(untouched_tree(), glass, day=Day(store, Ticking()), **preferences) as stage:
        stage.ashore.enrol.called = "Blue tablet"
        stage.frames(4)
        yield "enrol", stage
        stage.tap("ask:code")
        stage.frames(6)
        yield "code", stage
    structures = ("T07", "T08", "L1")
    with dive_staged(folder / "t.sqlite", structures, FOUND_BEFORE, BARE, glass, more=elsewhere_said(), **preferences) as dive:
        for part in (_ashore, _page, _around, _afterwards, _practice):
            yield from part(dive)


def _tap(dive: DiveStage, *names: str) -> Stage:
    """Tap one after another, each on what the last one brought."""
    for name in names:
        dive.stage.frames(6)
        dive.stage.tap(name)
    dive.stage.frames(6)
    return dive.stage


def _ashore(dive: DiveStage) -> Iterator[tuple[str, Stage]]:
    stage, day = dive.stage, dive.dive.day
    day.store.settings.put(pack={"survey": SURVEY, "sha256": "0" * 64, "structures": list(day.structures)}, clock_off_s=2)
    stage.ashore.go_home()
    stage.frames(6)
    yield "home", stage
    yield "aboard", _tap(dive, "aboard")
    _tap(dive, "back", "load")
    stage.wait_for(lambda: bool(stage.ashore.load.lights))
    stage.ashore.load.lights = list(light_up(day.store, SURVEY, Battery(35, charging=False), free_bytes=9_000_000_000))
    stage.ashore.load.refresh()
    stage.frames(6)
    yield "load", stage
    day.recorder().log_dive(
        ("ana", "ben"), place="North reef, outer buoy", went_in=NOW, depth_cm=610, visibility_cm=1200, water_temp_dc=275
    )
    _tap(dive, "back")
    stage.ashore.show_dive(day.today.visit or "")
    stage.frames(6)
    yield "dive", stage
    _tap(dive, "back", "tasks")
    stage.wait_for(lambda: not stage.ashore.tasks.busy)
    stage.frames(6)
    yield "tasks", stage
    yield "structures", _tap(dive, "back", "structures")


def _page(dive: DiveStage) -> Iterator[tuple[str, Stage]]:
    stage = dive.stage
    _tap(dive, "pick:T07", "page:1", "sign_off")
    _away(stage)
    _tap(dive, "page:2", "2.1.1", "status:bleached", "sign_off")
    _away(stage)
    _tap(dive, "page:3", "way:status_first")
    for status, *places in (
        ("fading", "3.1.1", "3.1.3"),
        ("preyed_on", "3.2.1"),
        ("sick", "3.2.3"),
        ("dead", "3.3.2"),
        ("lost", "3.3.5"),
        ("could_not_tell", "3.4.2"),
    ):
        _tap(dive, f"status:{status}", *places)
    yield "page-status-first", stage
    yield "page", _tap(dive, "way:place_first", "3.1.4", "status:alive", "3.2.4", "status:bleached")
    yield "arm", _tap(dive, "arm:4")
    _tap(dive, "3.2.4")


def _away(stage: Stage) -> None:
    """Whatever asks for a note may wait."""
    stage.frames(6)
    while stage.app.shell.layers:
        stage.tap(next(name for name in stage.targets() if name in ("close", "dismiss")))
        stage.frames(6)


def _around(dive: DiveStage) -> Iterator[tuple[str, Stage]]:
    stage = dive.stage
    yield "details", _tap(dive, "details")
    yield "more", _tap(dive, "back", "more")
    stage.tap("back")
    dive.dive.go_read_back()
    stage.frames(6)
    yield "read-back", stage
    _tap(dive, "back")
    dive.dive.act(lambda desk: desk.sign_off())
    stage.frames(6)
    if stage.app.shell.layers:
        yield "note", stage
        _away(stage)
    dive.dive.go_summary()
    stage.frames(6)
    yield "summary", stage
    stage.app.lock()
    stage.frames(6)
    yield "wipe", stage
    stage.app.shell.lift(stage.app.shell.layers[-1])


def _afterwards(dive: DiveStage) -> Iterator[tuple[str, Stage]]:
    stage, store = dive.stage, dive.store
    last = store.last("k7f3qz")
    store.identities.acknowledge("k7f3qz", last - 12)
    heads: JsonValue = {"k7f3qz": last - 12, "b2m9xw": 4, "c3n8yv": 1}
    receipt: JsonValue = {"at": NOW.isoformat(), "sent": last - 12, "received": 5, "photos": 0, "number": last - 12, "heads": heads}
    store.settings.put(contact=NOW.isoformat(), receipt=receipt)
    stage.ashore.go("sync")
    stage.frames(6)
    yield "sync", stage
    stage.app.open_settings_screen()
    stage.frames(6)
    yield "settings", stage
    yield "calibrate", _tap(dive, "calibrate")


def _practice(dive: DiveStage) -> Iterator[tuple[str, Stage]]:
    stage, slate = dive.stage, SLATES[0]
    stage.ashore.go_home()
    yield "practice", _tap(dive, "practise")
    _tap(dive, f"slate:{slate.key}", "1.1.2", "status:bleached", "1.1.4", "status:preyed_on")
    yield "practice-page", _tap(dive, "1.2.3", "status:bleached", "1.3.1", "status:lost")
    yield "practice-score", _tap(dive, "1.3.4", "status:preyed_on", "sign_off", "pick:1.2.3")


def take(folder: Path, glass: Glass, theme: str, language: str) -> None:
    """Every screen once, few colours and small."""
    folder.mkdir(parents=True, exist_ok=True)
    with tempfile.TemporaryDirectory() as scratch:
        for number, (name, stage) in enumerate(screens(Path(scratch), glass, theme=theme, language=language), start=1):
            time.sleep(SETTLED_S)
            stage.frames(2)
            few_colours(stage.picture().convert("RGB")).save(folder / f"{number:02}-{name}.png", optimize=True)


def few_colours(picture: Image.Image) -> Image.Image:
    """The colours that are there most, unchanged, so that all looks as on the glass; the nearest of them for the others.

    Pillow's own search for the nearest colour takes white for a grey that is near it.
    """
    packed = np.asarray(picture).astype(np.int64) @ np.array([65_536, 256, 1])
    found, which, counts = np.unique(packed, return_inverse=True, return_counts=True)
    colours = np.stack([found >> 16, found >> 8 & 255, found & 255], axis=1)
    kept = colours[np.argsort(counts)[::-1][:COLOURS]]
    nearest = np.array([((kept - colour) ** 2).sum(axis=1).argmin() for colour in colours], dtype=np.uint8)
    small = Image.frombytes("P", picture.size, nearest[which.ravel()].tobytes())
    small.putpalette(kept.ravel().tolist())
    return small


def main() -> None:
    """All of them, each set in a process of its own: a window keeps its size, and a screen of the set before its language."""
    if len(sys.argv) > 2:
        where, which, theme, language = sys.argv[1:]
        glass = GLASSES[int(which)]
        take(Path(where) / f"{glass.width}x{glass.height}-{theme}-{language}", glass, theme, language)
        return
    folder = sys.argv[1] if len(sys.argv) == 2 else str(HERE)
    catalogues().compile_all()
    for number, theme, language in product(range(len(GLASSES)), ("bright", "cabin"), ("en", "es")):
        program = [sys.executable, "-m", "tests.screens.tablet_pictures", folder, str(number), theme, language]
        subprocess.run(program, check=True)


if __name__ == "__main__":
    main()
