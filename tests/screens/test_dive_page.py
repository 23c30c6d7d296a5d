"""A dive's page under a finger, on the record: what a tap does is on disk, and what shows is what the disk holds."""

from datetime import timedelta
from pathlib import Path

import pytest

from mobile.store import Store
from shared_schema.entries import ConditionSeen, PageSignedOff
from tests.mobile.nursery import SURVEY, Ticking
from tests.mobile.test_dive_desk import elsewhere
from tests.screens.dive_stage import DiveStage, dive_staged

pytestmark = [pytest.mark.screen, pytest.mark.usefixtures("compiled_words")]

EXCEPTIONS = {f"{level}.{arm}.2": ("bleached", "sick", "lost")[arm - 1] for level in range(1, 5) for arm in range(1, 4)}
LOOK_S, THINK_S, TAP_S = 0.8, 1.35, 0.8  # Card, Moran & Newell (1980)


def look_at_the_slate(at: DiveStage) -> None:
    """The crew takes its time: no page is signed within five seconds of being opened."""
    clock = at.dive.day.clock
    assert isinstance(clock, Ticking)
    clock.now += timedelta(seconds=15)


def test_a_tree_with_twelve_exceptions_takes_few_taps_and_is_on_disk(tmp_path: Path) -> None:
    """From the list of structures to the last signature: at most 50 taps and 90 s by the keystroke-level model."""
    with dive_staged(tmp_path / "t.sqlite") as at:
        at.tap("pick:T07")
        for level in range(1, 6):
            for path, status in EXCEPTIONS.items():
                if path.startswith(f"{level}."):
                    at.tap(path, f"status:{status}")
            look_at_the_slate(at)
            at.tap("sign_off")
        assert at.stage.app.shell.screens.current == "summary"
        assert at.stage.app.shell.layers == [], "nothing was unlikely, so that nothing asks"
        taps = at.stage.taps
        assert taps <= 50
        # To look the next exception up and to decide about it; to decide that a page is done.
        assert taps * TAP_S + len(EXCEPTIONS) * (LOOK_S + THINK_S) + 5 * THINK_S <= 90
    with Store(tmp_path / "t.sqlite") as store:
        chart = store.on_structure("T07")
        found = {place.removeprefix("T07/"): hung.finding(SURVEY) for place, (hung,) in chart.by_place.items()}
        assert {path: finding.value("status") for path, finding in found.items() if finding} == {
            path: EXCEPTIONS.get(path, "alive") for path in found
        }
        signed = [store.logged(SURVEY, f"page:T07/{level}", "coverage")[0] for level in range(1, 6)]
        assert [(one.alive, one.marked, one.unseen) for one in signed if isinstance(one, PageSignedOff)] == [
            *[(17, 3, 0)] * 4,
            (20, 0, 0),
        ]


def test_every_tap_is_on_disk_before_the_screen_shows_it(tmp_path: Path) -> None:
    """Another program that reads the file finds each tap as soon as it shows."""
    with dive_staged(tmp_path / "t.sqlite", at="T07/1") as at, Store(tmp_path / "t.sqlite") as other:
        at.tap("1.2.4")
        assert other.settings.get("touched") == "T07/1.2.4"
        at.tap("status:dead")
        finding = other.finding(SURVEY, "fragment:F-T07-1.2.4")
        assert finding is not None
        assert finding.value("status") == "dead"
        at.tap("undo")
        finding = other.finding(SURVEY, "fragment:F-T07-1.2.4")
        assert finding is None or finding.value("status") is None


def test_it_starts_again_at_the_page_where_it_stopped(tmp_path: Path) -> None:
    """Ended anywhere on a page, the next start shows that page, the place touched last, and what undo would take back."""
    with dive_staged(tmp_path / "t.sqlite", at="T07/3") as at:
        at.tap("3.2.4", "status:sick", "3.3.1")
    with dive_staged(tmp_path / "t.sqlite", at=None) as at:
        assert at.stage.app.shell.screens.current == "dive"
        assert at.desk.page_address == "T07/3"
        assert [spot.path for spot in at.desk.view.board.spots if spot.last_touched] == ["3.3.1"]
        at.tap("undo")
        assert at.status("T07/3.2.4") is None


def test_after_leaving_a_page_it_starts_at_home(tmp_path: Path) -> None:
    """Who went back to the structures is not thrown into a page by the next start."""
    with dive_staged(tmp_path / "t.sqlite", at="T07/3") as at:
        at.tap("back")
        assert at.stage.app.shell.screens.current == "structures"
    with dive_staged(tmp_path / "t.sqlite", at=None) as at:
        assert at.stage.app.shell.screens.current == "home"


def test_places_that_nobody_looked_at_stay_unseen(tmp_path: Path) -> None:
    """The page is signed with `1 unseen`, and the record says nothing of that coral."""
    with dive_staged(tmp_path / "t.sqlite", at="T07/1") as at:
        at.tap("1.1.1", "status:unseen")
        assert "1 unseen" in at.texts()
        at.tap("sign_off")
        assert at.status("T07/1.1.1") is None
        assert at.status("T07/1.1.2") == "alive"


def test_an_unlikely_entry_asks_for_a_note_after_the_signature(tmp_path: Path) -> None:
    """Lost the last time, alive now: the page is signed, a sheet asks, one tap answers it."""
    with dive_staged(tmp_path / "t.sqlite", before={"T07/1.1.1": "lost"}, at="T07/1") as at:
        at.tap("1.1.1", "status:alive")
        look_at_the_slate(at)
        at.tap("sign_off")
        assert at.desk.open.state("1") == "signed_off"
        assert "T07/1.1.1: lost before, living now" in at.texts()
        at.tap("option:Found again")
        assert at.desk.recorder.doubts.on("T07/1") == ()
        assert at.desk.page_address == "T07/2"


def test_a_note_may_wait(tmp_path: Path) -> None:
    """One tap puts the question off; the page that comes next can be entered; the summary still has it."""
    with dive_staged(tmp_path / "t.sqlite", before={"T07/1.1.1": "dead"}, at="T07/1") as at:
        at.tap("1.1.1", "status:alive", "sign_off", "close", "2.1.1", "status:sick")
        assert at.status("T07/2.1.1") == "sick"
        at.tap("more", "offer:summary")
        assert "T07/1.1.1: dead before, living now" in at.texts()


def test_where_two_hang_a_sheet_asks_which(tmp_path: Path) -> None:
    """The status waits for the answer."""
    theirs = elsewhere()
    theirs.write(ConditionSeen, "fragment:F-T07-1.1.2", SURVEY, status="alive")
    with dive_staged(tmp_path / "t.sqlite", at="T07/1", more=theirs.written) as at:
        at.tap("1.1.1", "more", "offer:move", "pick:tap", "1.1.2", "1.1.2", "1.1.3", "1.1.2", "status:sick")
        assert "Two hang here" in at.texts()
        at.tap("pick:F-T07-1.1.1")
        finding = at.store.finding(SURVEY, "fragment:F-T07-1.1.1")
        assert finding is not None
        assert finding.value("status") == "sick"


def test_a_full_disk_is_said_and_nothing_half_done_shows(tmp_path: Path) -> None:
    """A tap that the disk does not take shows nowhere, the crew reads what to do, and goes on when there is room."""
    with dive_staged(tmp_path / "t.sqlite", at="T07/1") as at:
        database = at.store.database
        database.run(f"PRAGMA max_page_count = {database.rows('PRAGMA page_count')[0][0]}")
        at.tap("way:status_first", "status:sick")
        places = iter(position.path for position in at.desk.page.positions)
        while "The disk is full" not in at.texts():
            at.tap(next(places))
        held = at.store.last("k7f3qz")
        assert sum(spot.status == "sick" for spot in at.desk.view.board.spots) == held < 20
        at.tap("dismiss")
        database.run("PRAGMA max_page_count = 100000")
        at.tap("1.4.5")
        assert at.status("T07/1.4.5") == "sick"


def test_somebody_else_saw_what_comes_next(tmp_path: Path) -> None:
    """Naming another diver at home changes who is written down, and the page says whose slate it is."""
    with dive_staged(tmp_path / "t.sqlite", at="T07/1") as at:
        assert "Ana" in at.texts()
        at.tap("1.1.1", "status:sick", "back", "back")
        at.dive.day.saw("ben")
        at.dive.go_structures()
        at.stage.frames(4)
        at.tap("pick:T07")
        assert "Ben" in at.texts()
        at.tap("1.1.2", "status:sick")
        (entry,) = at.store.entries_of(SURVEY, "fragment:F-T07-1.1.2")
        assert (entry.by, entry.typed_by) == ("ben", "ana")
