"""What a crew does besides marking: all of it by taps, all of it offline, each thing one undo."""

from pathlib import Path

import pytest

from mobile.widgets.sheet import ScreenLock
from shared_schema.entries import ConditionSeen, FragmentOutplanted, NoteMade, PageNotReached, PhotoTaken
from shared_schema.ready_words import NOT_REACHED
from tests.mobile.nursery import SURVEY
from tests.mobile.test_dive_desk import elsewhere
from tests.screens.dive_stage import DiveStage, dive_staged

pytestmark = [pytest.mark.screen, pytest.mark.usefixtures("compiled_words")]

JPEG = b"\xff\xd8\xff\xe0 a picture"


def hanging(at: DiveStage, place: str) -> list[str]:
    """What hangs at an address by the record on disk."""
    return [hung.fragment for hung in at.store.at(place) if hung.here]


def value(at: DiveStage, fragment: str, fact: str) -> object:
    """What this survey says of a fragment."""
    finding = at.store.finding(SURVEY, f"fragment:{fragment}")
    return None if finding is None else finding.value(fact)


def test_details_are_two_taps_away_and_show_what_was_said(tmp_path: Path) -> None:
    """A topic, then a value: on disk, shown on its topic, and undone there."""
    with dive_staged(tmp_path / "t.sqlite", at="T07/1") as at:
        at.tap("1.1.1", "status:sick", "details", "option:60", "topic:signs", "option:band")
        assert (value(at, "F-T07-1.1.1", "live_tissue"), value(at, "F-T07-1.1.1", "signs")) == (60, ("band",))
        assert "60 %" in at.texts()
        assert "no diagnosis" in at.texts()
        at.tap("undo")
        assert value(at, "F-T07-1.1.1", "signs") is None
        at.tap("back")
        assert at.stage.app.shell.screens.current == "dive"


def test_a_size_is_typed_on_large_keys(tmp_path: Path) -> None:
    """Millimetres, by the number pad."""
    with dive_staged(tmp_path / "t.sqlite", at="T07/1") as at:
        at.tap("1.1.1", "details", "topic:size", "option:tle_mm", "key:4", "key:2", "key:0", "key:done")
        assert value(at, "F-T07-1.1.1", "tle_mm") == 420
        assert "420 mm" in at.texts()


def test_a_new_tag_and_a_note_are_typed(tmp_path: Path) -> None:
    """Letters by the keyboard on the screen; a ready note by one tap."""
    with dive_staged(tmp_path / "t.sqlite", at="T07/1") as at:
        at.tap("1.1.1", "details", "topic:tag", "option:new", "key:7", "key:f", "key:done")
        assert value(at, "F-T07-1.1.1", "tag") == "7f"
        at.tap("topic:note", "option:Ready to be cut", "option:write", "key:o", "key:k", "key:done")
        notes = [entry.text for entry in at.store.entries_of(SURVEY, "fragment:F-T07-1.1.1") if isinstance(entry, NoteMade)]
        assert notes == ["Ready to be cut", "ok"]


def test_a_photo_is_picked_from_what_a_camera_left(tmp_path: Path) -> None:
    """Its bytes are kept under their hash; a file that is no picture is refused in words."""
    folder = tmp_path / "DCIM"
    folder.mkdir()
    (folder / "one.jpg").write_bytes(JPEG)
    (folder / "two.jpg").write_bytes(b"no picture at all")
    with dive_staged(tmp_path / "t.sqlite", at="T07/1") as at:
        at.dive.details.pictures = lambda: (folder,)
        at.tap("1.1.1", "details", "topic:photo", f"pick:{folder / 'one.jpg'}")
        (entry,) = at.store.entries_of(SURVEY, "fragment:F-T07-1.1.1")
        assert isinstance(entry, PhotoTaken)
        assert at.store.photos.path(entry.sha256).read_bytes() == JPEG
        at.tap("topic:photo", f"pick:{folder / 'two.jpg'}")
        assert "cannot be kept" in at.texts()


def test_details_need_a_place(tmp_path: Path) -> None:
    """Without one, the screen says the one thing to do."""
    with dive_staged(tmp_path / "t.sqlite", at="T07/1") as at:
        at.tap("details")
        assert "Tap a place first." in at.texts()
        at.tap("dismiss", "arm:1", "details", "option:100")
        assert [value(at, f"F-T07-1.1.{hole}", "live_tissue") for hole in range(1, 6)] == [100] * 5


def test_a_coral_is_moved_to_another_structure(tmp_path: Path) -> None:
    """Picked up on one tree, hung on another: the strip says what is in hand until it hangs."""
    with dive_staged(tmp_path / "t.sqlite", ("T07", "T08"), bare=frozenset({"T08/2.1.1"}), at="T07/1") as at:
        at.tap("1.1.1", "more", "offer:move", "pick:tap")
        assert "Tap the place where F-T07-1.1.1 hangs now." in at.texts()
        assert "status:alive" not in at.stage.targets()
        at.tap("back", "pick:T08", "page:2", "2.1.1")
        assert hanging(at, "T08/2.1.1") == ["F-T07-1.1.1"]
        assert "status:alive" in at.stage.targets()
        at.tap("undo")
        assert hanging(at, "T07/1.1.1") == ["F-T07-1.1.1"]


def test_a_coral_goes_out_of_the_nursery(tmp_path: Path) -> None:
    """Or into a hand, or to the sand: by a list."""
    with dive_staged(tmp_path / "t.sqlite", at="T07/1") as at:
        at.tap("1.1.1", "more", "offer:move", "pick:removed")
        assert at.store.fragment("F-T07-1.1.1").place == "removed"
        assert at.desk.view.board.at("1.1.1").empty


def test_a_new_coral_is_cut_from_a_mother_on_the_map_or_by_name(tmp_path: Path) -> None:
    """Either way it is of her genet, and her harvest is logged."""
    with dive_staged(tmp_path / "t.sqlite", bare=frozenset({"T07/1.1.1", "T07/1.1.2"}), at="T07/1") as at:
        at.tap("1.1.1", "more", "offer:plant", "pick:tap", "page:3", "3.1.1")
        (first,) = hanging(at, "T07/1.1.1")
        assert at.store.fragment(first).standing.value("parent") == "F-T07-3.1.1"
        at.tap("1.1.2", "more", "offer:plant", "pick:name", "key:shift", "key:f", "key:-", "key:shift", "key:t", "key:0", "key:7")
        at.tap("key:-", "key:2", "key:.", "key:1", "key:.", "key:3", "key:done")
        (second,) = hanging(at, "T07/1.1.2")
        assert at.store.fragment(second).standing.value("parent") == "F-T07-2.1.3"
        for mother in ("F-T07-3.1.1", "F-T07-2.1.3"):
            assert len(at.store.logged(SURVEY, f"fragment:{mother}", "harvest")) == 1


def test_pieces_of_one_mother_are_hung_tap_by_tap(tmp_path: Path) -> None:
    """She stays in hand until she is put down."""
    bare = frozenset({f"T07/1.1.{hole}" for hole in range(1, 4)})
    with dive_staged(tmp_path / "t.sqlite", bare=bare, at="T07/1") as at:
        at.tap("1.2.1", "more", "offer:cut", "1.1.1", "1.1.2", "1.1.3", "put_down")
        assert len(at.store.logged(SURVEY, "fragment:F-T07-1.2.1", "harvest")) == 3
        assert all(hanging(at, place) for place in bare)


def test_a_replanted_place_holds_another_coral(tmp_path: Path) -> None:
    """What hung there is out of the nursery."""
    with dive_staged(tmp_path / "t.sqlite", at="T07/1") as at:
        at.tap("1.1.1", "more", "offer:replant", "pick:unknown")
        assert at.store.fragment("F-T07-1.1.1").place == "removed"
        assert len(hanging(at, "T07/1.1.1")) == 1


def test_a_coral_goes_to_a_site_on_the_reef(tmp_path: Path) -> None:
    """A site is typed once, and offered after that."""
    with dive_staged(tmp_path / "t.sqlite", at="T07/1") as at:
        at.tap("1.1.1", "more", "offer:outplant", "pick:", "key:shift", "key:a", "key:space", "key:1", "key:done")
        (entry,) = [one for one in at.store.entries_of(SURVEY, "fragment:F-T07-1.1.1") if isinstance(one, FragmentOutplanted)]
        assert entry.place == "site:A-1"
        at.tap("1.1.2", "more", "offer:outplant", "pick:A-1")
        assert at.store.fragment("F-T07-1.1.2").place == "site:A-1"


def test_a_lost_coral_is_found_on_the_sand_and_hung_again(tmp_path: Path) -> None:
    """Which one, how it is, and where it hangs now: then it counts again."""
    with dive_staged(tmp_path / "t.sqlite", before={"T07/1.1.1": "lost"}, at="T07/1") as at:
        at.tap("more", "offer:found", "pick:F-T07-1.1.1", "status:fading", "pick:tap", "1.1.1")
        assert hanging(at, "T07/1.1.1") == ["F-T07-1.1.1"]
        assert at.status("T07/1.1.1") == "fading"
        at.tap("undo")
        assert at.store.fragment("F-T07-1.1.1").place == "ground"
        at.tap("undo")
        assert at.store.fragment("F-T07-1.1.1").place == "T07/1.1.1"


def test_upkeep_is_ticked_off_in_one_go(tmp_path: Path) -> None:
    """Several works one after another, of the page and of the structure."""
    with dive_staged(tmp_path / "t.sqlite", at="T07/1") as at:
        at.tap("more", "offer:upkeep", "option:cleaned", "option:predators_removed", "scope:T07", "option:float_checked", "close")
        page, whole = (at.store.finding(SURVEY, subject) for subject in ("page:T07/1", "structure:T07"))
        assert page is not None
        assert whole is not None
        assert [one["work"] for one in page.value("upkeep")] == [["cleaned"], ["predators_removed"]]
        assert [one["work"] for one in whole.value("upkeep")] == [["float_checked"]]
        assert at.desk.open.state("1") == "not_opened", "work on a page is no word about its corals"


def test_a_page_that_nobody_reached_leads_on_and_the_last_one_to_the_summary(tmp_path: Path) -> None:
    """Each with its reason; the whole structure by one choice."""
    with dive_staged(tmp_path / "t.sqlite", at="T07/1") as at:
        at.tap("more", "offer:not_reached", f"option:{NOT_REACHED[1]}")
        assert at.desk.page_address == "T07/2"
        (entry,) = at.store.entries_of(SURVEY, "page:T07/1")
        assert isinstance(entry, PageNotReached)
        assert entry.reason == NOT_REACHED[1]
        at.tap("more", "offer:not_reached", "scope:T07", f"option:{NOT_REACHED[0]}")
        assert at.stage.app.shell.screens.current == "summary"
        assert at.texts().count("not reached") == 5


def test_a_page_is_read_back_and_leads_back(tmp_path: Path) -> None:
    """Arm by arm, forwards and backwards; after the last one the page is there again."""
    with dive_staged(tmp_path / "t.sqlite", at="T07/1") as at:
        at.tap("1.1.2", "status:dead", "more", "offer:read_back")
        assert "dead" in at.texts()
        at.tap("next", "previous")
        assert "dead" in at.texts()
        at.tap("next", "next", "next", "next")
        assert at.stage.app.shell.screens.current == "dive"


def test_the_screen_can_be_wiped(tmp_path: Path) -> None:
    """One choice deafens it, and it wakes on the page."""
    with dive_staged(tmp_path / "t.sqlite", at="T07/1") as at:
        at.tap("more", "offer:wipe")
        (lock,) = at.stage.app.shell.layers
        assert isinstance(lock, ScreenLock)
        assert at.stage.targets() == {}
        for _ in range(10):
            lock.tick()
        assert at.stage.app.shell.layers == []


def test_a_question_shows_who_said_what(tmp_path: Path) -> None:
    """Both sides with their names, from the place and from the summary; nothing pops up by itself."""
    theirs = elsewhere(by="ben")
    theirs.write(ConditionSeen, "fragment:F-T07-1.1.1", SURVEY, status="alive")
    mine = elsewhere("v2v2v2", "chloe")
    mine.write(ConditionSeen, "fragment:F-T07-1.1.1", SURVEY, status="lost")
    with dive_staged(tmp_path / "t.sqlite", at="T07/1", more=[*theirs.written, *mine.written]) as at:
        assert at.stage.app.shell.layers == []
        at.tap("1.1.1", "details", "topic:voices")
        texts = at.texts()
        assert "≠ Status: alive" in texts
        assert "≠ Status: lost" in texts
        assert "Ben" in texts
        assert "Chloe" in texts
        at.tap("close", "back", "more", "offer:summary", "pick:question:T07/1.1.1")
        assert "≠ Status: lost" in at.texts()


def test_from_the_summary_it_goes_on_to_the_sync(tmp_path: Path) -> None:
    """Or to the next structure, or back to a page."""
    with dive_staged(tmp_path / "t.sqlite", ("T07", "T08"), at="T07/1") as at:
        at.tap("more", "offer:summary", "pick:T07/3")
        assert at.desk.page_address == "T07/3"
        at.tap("more", "offer:summary", "structures", "pick:T08")
        assert at.desk.page_address == "T08/1"
        at.tap("more", "offer:summary", "send")
        assert at.stage.app.shell.screens.current == "sync"
