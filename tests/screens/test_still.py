"""The still that a start shows: what the page itself will show then, and nothing that a finger could miss."""

from pathlib import Path
from typing import Any

import pytest
from kivy.base import EventLoop
from PIL import Image

from mobile.screens.still_taker import StillTaker
from mobile.still import Still, StillShelf
from mobile.widgets.window import glass_of, read_window
from shared_schema.errors import StorageError
from tests.screens.dive_stage import DiveStage, dive_staged

pytestmark = [pytest.mark.screen, pytest.mark.usefixtures("compiled_words")]

ONE_FINGER = ("3.2.4", "status:bleached")


def shelf_of(at: DiveStage) -> StillShelf:
    """Where the still of this tablet is."""
    return StillShelf(at.store.database, glass_of(EventLoop.window))


def still_of(at: DiveStage) -> Still | None:
    """The still of how things are, if there is one."""
    return shelf_of(at).read(at.stage.glass.width, at.stage.glass.height)


def rest(at: DiveStage, taker: StillTaker, frames: int = 6) -> None:
    """Nobody touches the page for two seconds."""
    at.stage.clock.now += 2
    taker.look()
    for _ in range(frames):
        EventLoop.idle()


def taken(at: DiveStage) -> Still:
    """The still that is taken then."""
    at.stage.wait_for(lambda: bool(at.dive.page.settled))
    taker = StillTaker(at.stage.app.shell, at.dive, shelf_of(at))
    rest(at, taker)
    at.stage.wait_for(lambda: still_of(at) is not None)
    taker.close()
    still = still_of(at)
    assert still is not None
    return still


def picture_of(still: Still) -> Image.Image:
    """As pictures are compared here."""
    size = (still.width, still.height)
    return Image.frombytes("RGBA", size, still.pixels).transpose(Image.Transpose.FLIP_TOP_BOTTOM)


@pytest.mark.parametrize("taps", [(), ONE_FINGER, ("way:status_first", "status:dead")])
def test_it_is_what_the_next_start_shows(tmp_path: Path, taps: tuple[str, ...]) -> None:
    """Pixel for pixel, whatever was selected or in hand; and that start writes nothing, so that it holds for the next one."""
    path = tmp_path / "t.sqlite"
    with dive_staged(path, at="T07/3", before={"T07/3.1.1": "sick"}) as at:
        at.tap(*taps)
        still = taken(at)
    with dive_staged(path, at=None) as at:
        assert at.stage.app.shell.screens.current == "dive"
        assert at.stage.picture().tobytes() == picture_of(still).tobytes()
        assert still_of(at) == still


def test_nobody_sees_that_it_is_taken(tmp_path: Path) -> None:
    """What is selected stays in sight: the frames without it are never shown."""
    with dive_staged(tmp_path / "t.sqlite", at="T07/3") as at:
        at.tap(*ONE_FINGER)
        at.stage.wait_for(lambda: bool(at.dive.page.settled))
        before = at.stage.picture().tobytes()
        shown: list[bytes] = []

        def flipped(window: Any) -> None:
            shown.append(read_window(window))

        EventLoop.window.bind(on_flip=flipped)
        still = taken(at)
        EventLoop.window.canvas.ask_update()
        EventLoop.idle()
        EventLoop.window.unbind(on_flip=flipped)
        assert picture_of(still).tobytes() != before
        size = (still.width, still.height)
        assert shown
        assert {picture_of(Still(*size, pixels)).tobytes() for pixels in shown} == {before}
        at.tap("status:dead")
        assert at.status("T07/3.2.4") == "dead", "it is still selected"


def test_a_finger_that_comes_meanwhile_goes_first(tmp_path: Path) -> None:
    """No still is kept of a page that is being worked on, and the tap does what it always does."""
    with dive_staged(tmp_path / "t.sqlite", at="T07/3") as at:
        at.tap("3.2.4")
        taker = StillTaker(at.stage.app.shell, at.dive, shelf_of(at))
        rest(at, taker, frames=1)
        at.tap("status:dead")
        for _ in range(4):
            EventLoop.idle()
        taker.close()
        assert at.status("T07/3.2.4") == "dead"
        assert still_of(at) is None
        assert at.desk.view.board.at("3.2.4").selected


UNSETTLED = ("a finger is down", "it was touched just now", "something lies over it", "another screen", "old colours on the map")


@pytest.mark.parametrize("what", UNSETTLED)
def test_none_is_taken_of_what_a_start_would_not_show(tmp_path: Path, what: str) -> None:
    """Only of the page, whole and at rest."""
    with dive_staged(tmp_path / "t.sqlite", at="T07/3") as at:
        taker = StillTaker(at.stage.app.shell, at.dive, shelf_of(at))
        at.tap("3.2.4")
        at.stage.clock.now += 2
        finger = None
        if what == "a finger is down":
            finger = at.stage.down(*at.stage.middle("3.2.5"))
            at.stage.clock.now += 2
        elif what == "it was touched just now":
            at.tap("3.2.5")
        elif what == "something lies over it":
            at.dive.say("Look up.")
        elif what == "another screen":
            at.tap("more")
            at.stage.clock.now += 2
        else:
            at.dive.page._colour_map_soon()
        taker.look()
        for _ in range(5):
            EventLoop.idle()
        taker.close()
        if finger is not None:
            at.stage.up(finger)
        assert still_of(at) is None


def test_a_disk_that_does_not_take_it_disturbs_nobody(tmp_path: Path) -> None:
    """The tablet goes on, without a still."""

    class Full(StillShelf):
        """There is no room for it."""

        def keep(self, width: int, height: int, packed: bytes, moment: tuple[int, int]) -> bool:
            raise StorageError(f"no room for {len(packed)} bytes of {width} x {height} at {moment}")

    with dive_staged(tmp_path / "t.sqlite", at="T07/3") as at:
        taker = StillTaker(at.stage.app.shell, at.dive, Full(at.store.database, "glass"))
        rest(at, taker)
        at.stage.wait_for(lambda: taker.given_up)
        assert still_of(at) is None
        at.tap("3.2.4", "status:dead")
        assert at.status("T07/3.2.4") == "dead"
        taker.close()
