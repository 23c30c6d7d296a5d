"""The page under a finger: what a tap does, and what is no tap."""

import pytest
from PIL import ImageChops

from mobile.desk import PracticeDesk
from mobile.palette import CONDITIONS, Colour
from mobile.widgets.look import LOOK
from tests.screens.harness import TABLET, Stage, staged
from tests.screens.samples import crowded_table, tree_in_work, untouched_tree

pytestmark = [pytest.mark.screen, pytest.mark.usefixtures("compiled_words")]


def painted(stage: Stage, name: str, paint: Colour) -> int:
    """How many pixels of a target have a colour."""
    spot = stage.targets()[name]
    left, top = round(spot.x), TABLET.height - round(spot.y + spot.height)
    tile = stage.picture().crop((left, top, left + round(spot.width), top + round(spot.height)))
    wanted = tuple(round(part * 255) for part in paint[:3])
    colours = tile.convert("RGB").getcolors(1_000_000)
    assert colours is not None
    return sum(count for count, found in colours if found == wanted)


def fill(status: str) -> Colour:
    """A condition's fill."""
    found = CONDITIONS[status].fill
    assert found is not None
    return found


def test_a_place_and_a_status_mark_it_and_show_it() -> None:
    """Two taps mark a place, and its tile has the status's colour on the glass."""
    desk = untouched_tree()
    with staged(desk) as stage:
        assert painted(stage, "1.2.4", fill("bleached")) == 0
        stage.tap("1.2.4")
        stage.tap("status:bleached")
        assert desk.statuses == {"1.2.4": "bleached"}
        assert painted(stage, "1.2.4", fill("bleached")) > 500
        assert painted(stage, "1.2.5", fill("bleached")) == 0


def test_the_last_place_touched_is_ringed() -> None:
    """The tile touched last has a ring, and the one before lost it."""
    with staged(untouched_tree()) as stage:
        plain = painted(stage, "1.1.1", LOOK.theme.ring)
        stage.tap("1.1.1")
        assert painted(stage, "1.1.1", LOOK.theme.ring) > plain + 500
        stage.tap("1.4.5")
        assert painted(stage, "1.1.1", LOOK.theme.ring) == plain


def test_a_finger_that_slips_off_does_nothing() -> None:
    """Down on one place and up on another, or beside all, changes nothing; coming back acts."""
    desk = untouched_tree()
    with staged(desk) as stage:
        stage.tap("way:status_first")
        stage.tap("status:sick")
        for elsewhere in (stage.middle("1.1.2"), (5.0, 5.0), stage.middle("more")):
            finger = stage.down(*stage.middle("1.1.1"))
            stage.drag(finger, *elsewhere)
            stage.up(finger)
            stage.clock.now += 1
        assert desk.statuses == {}
        finger = stage.down(*stage.middle("1.1.1"))
        stage.drag(finger, 5.0, 5.0)
        stage.drag(finger, *stage.middle("1.1.1"))
        stage.up(finger)
        assert desk.statuses == {"1.1.1": "sick"}


def test_a_finger_that_slips_off_a_button_does_nothing() -> None:
    """Buttons act where the finger lets go of them, like places."""
    desk = untouched_tree()
    with staged(desk) as stage:
        finger = stage.down(*stage.middle("sign_off"))
        stage.drag(finger, *stage.middle("1.1.1"))
        stage.up(finger)
        assert desk.view.board.page.path == "1"


def test_the_second_of_two_quick_taps_is_dropped() -> None:
    """A double tap on sign-off signs one page; after a quarter of a second the next one counts."""
    desk = untouched_tree()
    with staged(desk) as stage:
        stage.tap("sign_off")
        stage.tap("sign_off", after_s=0.2)
        assert desk.view.board.page.path == "2"
        stage.tap("sign_off", after_s=0.3)
        assert desk.view.board.page.path == "3"


def test_a_second_finger_does_nothing_while_the_first_is_down() -> None:
    """A palm or a drop of water beside the finger that works marks nothing."""
    desk = untouched_tree()
    with staged(desk) as stage:
        stage.tap("way:status_first")
        stage.tap("status:lost")
        stage.clock.now += 1
        first = stage.down(*stage.middle("1.1.1"))
        stage.up(stage.down(*stage.middle("1.3.3")))
        stage.up(first)
        assert desk.statuses == {"1.1.1": "lost"}


def test_an_arm_is_marked_by_its_head() -> None:
    """Its head and a status mark all five places."""
    desk = untouched_tree()
    with staged(desk) as stage:
        stage.tap("arm:3")
        stage.tap("status:dead")
        assert desk.statuses == {f"1.3.{hole}": "dead" for hole in range(1, 6)}


def test_undo_is_in_sight_and_takes_back() -> None:
    """One tap takes the last mark back, and the tile shows it; with nothing to take back the button is deaf."""
    desk = untouched_tree()
    with staged(desk) as stage:
        assert "undo" not in stage.targets()
        stage.tap("1.1.1")
        stage.tap("status:sick")
        stage.tap("undo")
        assert desk.statuses == {}
        assert painted(stage, "1.1.1", fill("sick")) == 0
        assert "undo" not in stage.targets()


def test_a_tree_with_twelve_exceptions_takes_few_taps() -> None:
    """All five levels with twelve exceptions are entered and signed in at most 50 taps and 90 s (keystroke-level model)."""
    desk = untouched_tree()
    exceptions = {f"{level}.{arm}.2": "bleached" for level in range(1, 5) for arm in range(1, 4)}
    with staged(desk) as stage:
        for level in range(1, 6):
            for path, status in exceptions.items():
                if path.startswith(f"{level}."):
                    stage.tap(path)
                    stage.tap(f"status:{status}")
            stage.tap("sign_off")
        assert {page.state for page in desk.view.overview.pages} == {"signed_off"}
        assert {path: status for path, status in desk.statuses.items() if status != "alive"} == exceptions
        assert len(desk.statuses) == 100
        assert stage.taps <= 50
        # Card, Moran & Newell (1980): a tap 0.8 s; to look the next exception up 0.8 s and to decide 1.35 s.
        assert stage.taps * 0.8 + len(exceptions) * (0.8 + 1.35) + 5 * 1.35 <= 90


def test_nobody_vouches_for_what_was_not_shown() -> None:
    """A page in parts is signed only after each part was on the screen; until then the same button goes on."""
    desk = crowded_table()
    with staged(desk) as stage:
        shown: set[str] = set()
        for _part in range(4):
            assert not desk.view.signed
            shown |= {name for name in stage.targets() if name.startswith("1.")}
            stage.tap("sign_off")
        assert shown == {position.path for position in desk.view.overview.design.pages[0].positions}
        assert desk.view.board.page.path == "2"


def test_the_map_opens_a_page_and_turns_to_the_others() -> None:
    """A page's target opens it, and the arrow leads to pages that do not fit."""
    desk: PracticeDesk = crowded_table()
    with staged(desk) as stage:
        stage.tap("page:2")
        assert desk.view.board.page.path == "2"
        seen = {name for name in stage.targets() if name.startswith("page:")}
        stage.tap("later")
        later = {name for name in stage.targets() if name.startswith("page:")}
        assert later
        assert not later & seen


def test_the_hand_decides_the_side() -> None:
    """For a left hand the buttons are on the left and the map on the right."""
    for left_handed in (False, True):
        with staged(tree_in_work(), left_handed=left_handed) as stage:
            assert (stage.middle("sign_off")[0] < stage.middle("3.1.1")[0]) is left_handed
            assert (stage.middle("page:1")[0] > stage.middle("3.1.1")[0]) is left_handed


def test_the_last_visit_can_be_hidden() -> None:
    """With the last visit hidden, an untouched tile is the same whatever was found there."""
    with staged(tree_in_work(), faint=False) as stage:
        with_history, without = "3.1.2", "3.1.5"
        spots = stage.targets()
        picture = stage.picture()
        tiles = []
        for name in (with_history, without):
            spot = spots[name]
            x, y = round(spot.x), TABLET.height - round(spot.y + spot.height)
            tiles.append(picture.crop((x + 40, y + 1, x + round(spot.width) - 1, y + round(spot.height) - 1)).convert("RGB"))
        # Smooth edges of tiles at other fractions of a pixel differ by a shade or two.
        assert max(ImageChops.difference(*tiles).tobytes()) <= 4
