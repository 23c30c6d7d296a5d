"""The battery dies in the middle of a page: what was shown is there, and the same page opens."""

import random
import signal
import subprocess
import sys
from pathlib import Path

import pytest

from mobile.desk import UNSEEN
from mobile.dive_desk import DiveDesk
from tests.mobile.dive_program import random_tap, resumed
from tests.mobile.nursery import recorder, tablet

ROOT = Path(__file__).parents[2]


def said(desk: DiveDesk) -> dict[str, object]:
    """All that is shown of both pages, signatures included, and how far back it can be taken."""
    here = desk.page.path
    shown: dict[str, object] = {"undo": [(done.label, done.where) for done in desk.store.undo.all]}
    for page in desk.open.design.pages:
        desk.open_page(page.path)
        view = desk.view
        shown[page.path] = (view.signed, [UNSEEN if spot.unseen else spot.status for spot in view.board.spots])
    desk.open_page(here)
    return shown


def replayed(path: Path, seed: int, taps: int) -> dict[str, object]:
    """What the same taps come to on a tablet that lives."""
    chance = random.Random(str(seed))
    with tablet(path) as store:
        desk = DiveDesk(recorder(store), "T01")
        for _ in range(taps):
            random_tap(desk, chance)
        return said(desk)


@pytest.mark.parametrize(("seed", "acknowledged"), [(1, 3), (2, 17), (3, 40), (4, 90)])
def test_every_tap_that_was_shown_is_there_after_a_kill(tmp_path: Path, seed: int, acknowledged: int) -> None:
    """kill -9 in the middle of entry: the record is that of all taps that were shown, and perhaps of the next one, whole."""
    arguments = [sys.executable, "-m", "tests.mobile.dive_program", str(tmp_path / "t.sqlite"), str(seed)]
    with subprocess.Popen(arguments, stdout=subprocess.PIPE, text=True, cwd=ROOT) as program:
        assert program.stdout is not None
        lines = [program.stdout.readline() for _ in range(acknowledged)]
        program.kill()
        lines += [line for line in program.stdout if line.endswith("\n")]
    assert program.returncode == -signal.SIGKILL
    with tablet(tmp_path / "t.sqlite") as store:
        found = said(resumed(store))
    taps = int(lines[-1].split()[0])
    expected = [replayed(tmp_path / f"{number}.sqlite", seed, number) for number in (taps, taps + 1)]
    assert found in expected


def test_the_page_that_was_shown_opens_again(tmp_path: Path) -> None:
    """After a kill the start shows the page of the last tap, or of the next one, with the place that was touched ringed."""
    arguments = [sys.executable, "-m", "tests.mobile.dive_program", str(tmp_path / "t.sqlite"), "7"]
    with subprocess.Popen(arguments, stdout=subprocess.PIPE, text=True, cwd=ROOT) as program:
        assert program.stdout is not None
        lines = [program.stdout.readline() for _ in range(25)]
        program.kill()
        lines += [line for line in program.stdout if line.endswith("\n")]
    pages, chance = [], random.Random("7")
    with tablet(tmp_path / "again.sqlite") as store:
        desk = DiveDesk(recorder(store), "T01")
        for _ in range(int(lines[-1].split()[0]) + 1):
            random_tap(desk, chance)
            pages.append(desk.page_address)
    assert [line.split()[1] for line in lines] == pages[:-1]
    with tablet(tmp_path / "t.sqlite") as store:
        kept, touched = str(store.settings.get("page")), str(store.settings.get("touched"))
        desk = resumed(store)
        assert desk.page_address == kept
        assert kept in pages[-2:]
        ringed = [spot.path for spot in desk.view.board.spots if spot.last_touched]
        on_it = touched.startswith(f"{kept}.") and touched.count(".") == 2
        assert ringed == ([touched.partition("/")[2]] if on_it else [])
