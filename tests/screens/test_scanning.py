"""The way in by camera: what it sees fills in address and code; whatever fails, typing is a tap away."""

from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest

from mobile.widgets.camera import CameraSource, Lack
from mobile.widgets.look import LOOK
from tests.screens.drawn_camera import DrawnSource, blurred, code_picture, desk, of_svg, on_a_desk
from tests.screens.fitting import SIGHTS, all_is_well, words_of
from tests.screens.harness import GLASSES, Glass, Stage
from tests.screens.shore import harbour, on_a_tablet, texts, type_text
from tests.server.visitor import Visitor

pytestmark = [pytest.mark.screen, pytest.mark.usefixtures("compiled_words")]

TEXT = "http://192.168.1.5:8000#TQFGT48F6W"


@contextmanager
def new_tablet(path: Path, source: CameraSource) -> Iterator[Stage]:
    """The first screen of a tablet with such a camera."""
    with on_a_tablet(path) as stage:
        stage.ashore.enrol.source = source
        stage.frames(4)
        yield stage


def see(stage: Stage, source: DrawnSource, what: object) -> None:
    """Hold something before the camera, until it was looked at twice."""
    source.picture = what  # type: ignore[assignment]  # None is a lens cap
    scan = stage.ashore.scan
    assert scan is not None
    for _ in range(2):
        stage.frames(3)
        scan.look()
    stage.frames(4)


def test_the_picture_on_the_offices_page_lets_a_tablet_in(tmp_path: Path) -> None:
    """Nothing, a blur, another code: it goes on looking. Then the office's own: both are filled in, and the server takes them."""
    source = DrawnSource()
    with harbour(tmp_path) as office, office.open() as url, new_tablet(tmp_path / "a.sqlite", source) as stage:
        visitor = Visitor(url, office.record)
        page = visitor.send(visitor.forms("/tablets", "/tablets/codes")[0]).text
        picture = on_a_desk(of_svg(page))
        assert "scan the office's picture" in texts(stage)
        stage.tap("scan")
        for nothing in (desk(), blurred(picture)):
            see(stage, source, nothing)
            assert "Hold the tablet so" in texts(stage)
        see(stage, source, on_a_desk(code_picture("https://example.org/menu")))
        assert "This is another picture." in texts(stage)
        see(stage, source, picture)
        assert stage.app.shell.screens.current == "enrol"
        assert source.held == 0, "the camera was given back"
        assert url in texts(stage)
        stage.tap("ask:name")
        type_text(stage, "blue")
        stage.tap("enrol")
        stage.wait_for(lambda: "Next: load the maps" in texts(stage))


def test_the_camera_is_held_only_while_it_is_looked_through(tmp_path: Path) -> None:
    """Back, typing instead, another program in front, the end of the program: each gives it back."""
    source = DrawnSource()
    with new_tablet(tmp_path / "a.sqlite", source) as stage:
        for leave in ("back", "type"):
            stage.tap("scan")
            see(stage, source, desk())
            assert source.held == 1
            stage.tap(leave)
            assert source.held == 0
        assert "Address of the server" in texts(stage), "who rather types is asked at once"
        stage.tap("close")
        stage.tap("scan")
        assert stage.app.on_pause()
        assert source.held == 0
        stage.app.on_resume()
        assert source.held == 1
    assert source.held == 0


def test_a_camera_that_fails_says_so_and_can_be_tried_again(tmp_path: Path) -> None:
    """Not allowed, broken, black: each in words, with the way to type, and a second try works."""
    source = DrawnSource()
    with new_tablet(tmp_path / "a.sqlite", source) as stage:
        source.given = False
        stage.tap("scan")
        assert "The camera may not be used." in texts(stage)
        source.given, source.broken = True, True
        stage.tap("again")
        assert "The camera does not start." in texts(stage)
        source.broken = False
        source.picture = None
        stage.tap("again")
        see(stage, source, None)
        assert "Hold the tablet so" in texts(stage)
        stage.clock.now += 7
        see(stage, source, None)
        assert "The camera shows nothing." in texts(stage)
        assert source.held == 0
        stage.tap("again")
        see(stage, source, on_a_desk(code_picture(TEXT)))
        assert "TQFGT-48F6W" in texts(stage)


def test_leave_that_is_given_too_late_opens_nothing(tmp_path: Path) -> None:
    """Who went back before answering the platform's question is not filmed."""
    source = DrawnSource()
    source.waits = True
    with new_tablet(tmp_path / "a.sqlite", source) as stage:
        stage.tap("scan")
        stage.tap("back")
        assert source.asked is not None
        source.asked(True)
        assert source.held == 0


def test_who_finds_nothing_for_long_is_told_what_helps(tmp_path: Path) -> None:
    """After a dozen seconds; the camera stays open."""
    source = DrawnSource()
    with new_tablet(tmp_path / "a.sqlite", source) as stage:
        stage.tap("scan")
        see(stage, source, desk())
        stage.clock.now += 13
        see(stage, source, desk())
        assert "Nothing found yet." in texts(stage)
        assert source.held == 1


@pytest.mark.parametrize(("lack", "says"), [("camera", "use a camera"), ("decoder", "zxing-cpp")])
def test_where_nothing_can_be_scanned_one_line_says_why(tmp_path: Path, lack: Lack, says: str) -> None:
    """And nothing offers it."""
    with new_tablet(tmp_path / "a.sqlite", DrawnSource(lack)) as stage:
        assert "scan" not in stage.targets()
        assert says in texts(stage)
        assert "First: type the address" in texts(stage)


def scan_screens(stage: Stage, source: DrawnSource) -> Iterator[str]:
    """Each with the longest that it has to say."""
    yield "enrol"
    stage.tap("scan")
    see(stage, source, on_a_desk(code_picture("https://example.org/menu")))
    yield "scan, another picture"
    stage.clock.now += 13
    see(stage, source, desk())
    yield "scan, nothing for long"
    stage.tap("back")
    source.given = False
    stage.tap("scan")
    yield "scan, refused"
    source.given, source.broken = True, True
    stage.tap("again")
    yield "scan, broken"
    stage.tap("back")
    lacks: tuple[Lack, ...] = ("camera", "decoder")
    for lack in lacks:
        stage.ashore.enrol.source = DrawnSource(lack)
        stage.frames(4)
        yield f"enrol without {lack}"


@pytest.mark.parametrize("glass", GLASSES, ids=str)
def test_everything_round_the_camera_can_be_hit_and_read(tmp_path: Path, glass: Glass) -> None:
    """On every glass, and in every language on one of them."""
    with on_a_tablet(tmp_path / "a.sqlite", glass=glass) as stage:
        for language in [language for seen, language in SIGHTS if seen == glass]:
            source = DrawnSource()
            LOOK.tongue.words = words_of(language)
            stage.ashore.enrol.source = source
            for screen in scan_screens(stage, source):
                stage.frames(4)
                all_is_well(f"{language}: {screen}", stage)
