"""The program itself, on a display, under a real pointer: what was clicked is in the record when it is gone."""

import os
import select
import shutil
import signal
import subprocess
import sys
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest

from mobile.store import Store
from shared_schema.entries import ConditionSeen, PageSignedOff
from tests.mobile.nursery import SURVEY
from tests.screens.dive_stage import dive_staged, nursery, tablet_with
from tests.screens.harness import TABLET

pytestmark = [pytest.mark.screen, pytest.mark.usefixtures("compiled_words")]

ROOT = Path(__file__).parents[2]
PATIENCE_S = 60.0
STEPS = ("way:place_first", "3.2.4", "status:bleached", "sign_off")


def needed(program: str) -> str:
    """Where a program is; its Debian package is part of the error, for nothing is skipped."""
    found = shutil.which(program)
    if found is None:
        pytest.fail(f"{program} is missing: apt-get install xvfb xdotool libgl1 libegl1 libgles2 libgl1-mesa-dri libmtdev1")
    return found


def wait_for(what: str, holds: Callable[[], bool], each: Callable[[], None] = lambda: None) -> None:
    """Wait until something holds, doing something about it every two seconds."""
    end, again = time.monotonic() + PATIENCE_S, 0.0
    while not holds():
        assert time.monotonic() < end, f"{what}: not within {PATIENCE_S:.0f} s"
        if time.monotonic() >= again:
            each()
            again = time.monotonic() + 2
        time.sleep(0.05)


@contextmanager
def stopped_at_the_end(process: subprocess.Popen[bytes]) -> Iterator[subprocess.Popen[bytes]]:
    """A program that does not outlive the test."""
    try:
        yield process
    finally:
        process.send_signal(signal.SIGTERM)
        try:
            process.wait(10)
        except subprocess.TimeoutExpired:
            process.kill()
            process.wait(10)


@contextmanager
def display() -> Iterator[str]:
    """A display of its own, as `:7`."""
    reader, writer = os.pipe()
    screen = f"{TABLET.width}x{TABLET.height}x24"
    arguments = [needed("Xvfb"), "-displayfd", str(writer), "-screen", "0", screen, "-nolisten", "tcp", "-noreset"]
    with stopped_at_the_end(subprocess.Popen(arguments, pass_fds=[writer])):
        os.close(writer)
        number = b""
        while not number.endswith(b"\n"):  # Xvfb gives up where nobody reads to the end of the line
            ready, _, _ = select.select([reader], [], [], PATIENCE_S)
            part = os.read(reader, 16) if ready else b""
            assert part, f"no display was opened within {PATIENCE_S:.0f} s by {' '.join(arguments)}"
            number += part
        os.close(reader)
        yield f":{number.decode().strip()}"


def places_on_the_glass(folder: Path) -> dict[str, tuple[int, int]]:
    """Where the targets of the page are, in pixels from the upper left, by the same screens on another tablet."""
    with dive_staged(folder / "other.sqlite", at="T07/3") as dive:
        middles = {name: dive.stage.middle(name) for name in STEPS}
    return {name: (round(x), round(TABLET.height - y)) for name, (x, y) in middles.items()}


def program_on(path: Path) -> list[str]:
    """The tablet's program, as its command starts it."""
    return [sys.executable, "-m", "mobile.start", "--data", str(path)]


def environment_on(display: str, folder: Path) -> dict[str, str]:
    """The same size of things as in places_on_the_glass; everything else as at a user's, and nothing of this test's own."""
    environment = {name: value for name, value in os.environ.items() if name in ("PATH", "HOME", "LANG", "LC_ALL")}
    environment |= {"KIVY_DPI": str(TABLET.dpi), "KIVY_METRICS_DENSITY": "1", "KIVY_HOME": str(folder / "kivy")}
    return environment | {"DISPLAY": display}


def test_a_page_clicked_and_signed_off_is_in_the_record(tmp_path: Path) -> None:
    """The tablet starts at the page where it stopped; a place, its status and the sign-off are clicked; the store has them."""
    xdotool, path = needed("xdotool"), tmp_path / "t.sqlite"
    places = places_on_the_glass(tmp_path)
    with tablet_with(path, nursery(("T07",)), ("T07",)) as store:
        store.settings.put(page="T07/3", way="status_first")
    with display() as name, (tmp_path / "log").open("wb") as log:
        environment = environment_on(name, tmp_path)

        def click(target: str) -> None:
            x, y = places[target]
            arguments = [xdotool, "mousemove", str(x), str(y), "click", "1"]
            subprocess.run(arguments, env=environment, check=True, timeout=PATIENCE_S)

        started = subprocess.Popen(program_on(path), env=environment, cwd=ROOT, stdout=log, stderr=log)
        with stopped_at_the_end(started), Store(path) as store:

            def entries() -> int:
                assert started.poll() is None, (tmp_path / "log").read_text()
                return store.last("k7f3qz")

            # Clicks before the first frame are lost; this one may be repeated.
            first, *others = STEPS
            wait_for("the page", lambda: entries() == 0 and store.settings.get("way") == "place_first", lambda: click(first))
            click("3.2.4")
            wait_for("the place", lambda: store.settings.get("touched") == "T07/3.2.4")
            time.sleep(0.3)  # a second tap within a quarter of a second would be dropped
            click("status:bleached")
            wait_for("the status", lambda: entries() == 1)
            time.sleep(0.3)
            click("sign_off")
            wait_for("the signature", lambda: entries() == 21)
            assert others == ["3.2.4", "status:bleached", "sign_off"]
    with Store(path) as store:
        seen = [entry for entry in store.entries_of(SURVEY, "fragment:F-T07-3.2.4") if isinstance(entry, ConditionSeen)]
        assert [(entry.status, entry.by, entry.basis) for entry in seen] == [("bleached", "ana", "tapped")]
        signed = [entry for entry in store.entries_of(SURVEY, "page:T07/3") if isinstance(entry, PageSignedOff)]
        assert [(one.alive, one.marked, one.unseen) for one in signed] == [(19, 1, 0)]


def test_a_click_on_the_still_of_a_page_is_a_click_on_the_page(tmp_path: Path) -> None:
    """A start shows where it stopped before it can do anything: what is clicked meanwhile is done when it can."""
    xdotool, path = needed("xdotool"), tmp_path / "t.sqlite"
    x, y = places_on_the_glass(tmp_path)["3.2.4"]
    with tablet_with(path, nursery(("T07",)), ("T07",)) as store:
        store.settings.put(page="T07/3", touched="T07/3.1.1")
    with display() as name, Store(path) as store:
        environment = environment_on(name, tmp_path)
        with (tmp_path / "first").open("wb") as log:
            first = subprocess.Popen(program_on(path), env=environment, cwd=ROOT, stdout=log, stderr=log)
            with stopped_at_the_end(first):
                wait_for("a still", lambda: bool(store.database.rows("SELECT 1 FROM still")))
                first.kill()
        with (tmp_path / "second").open("wb") as log:
            second = subprocess.Popen(program_on(path), env=environment, cwd=ROOT, stdout=log, stderr=log)
            with stopped_at_the_end(second):
                wait_for("the still's texture", lambda: b"NPOT texture" in (tmp_path / "second").read_bytes())
                second.send_signal(signal.SIGSTOP)  # however busy the machine is, the click comes before the page
                assert b"Start application" not in (tmp_path / "second").read_bytes()
                arguments = [xdotool, "mousemove", str(x), str(y), "click", "1"]
                subprocess.run(arguments, env=environment, check=True, timeout=PATIENCE_S)
                second.send_signal(signal.SIGCONT)
                wait_for("the place", lambda: store.settings.get("touched") == "T07/3.2.4")
