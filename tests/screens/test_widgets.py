"""What screens are made of does what its user expects, under real touches."""

import gc
from typing import Any

import pytest

from mobile.widgets.list_picker import Choice, ListPicker
from mobile.widgets.look import LOOK
from mobile.widgets.number_pad import NumberPad
from mobile.widgets.sheet import LOCK_S, Banner, ScreenLock, Sheet
from tests.screens.harness import Stage, staged
from tests.screens.samples import tree_in_work, untouched_tree

pytestmark = [pytest.mark.screen, pytest.mark.usefixtures("compiled_words")]

LISTS = 5
NAMES = [f"person-{number}" for number in range(1, 13)]


class Ticking:
    """A second hand that a test moves."""

    def __init__(self) -> None:
        self.call: Any = None
        self.cancelled = False

    def __call__(self, call: Any) -> "Ticking":
        """Remember what is to be called every second."""
        self.call = call
        return self

    def cancel(self) -> None:
        """No more of it."""
        self.cancelled = True


def lay(stage: Stage, widget: Any) -> None:
    """A widget in a sheet over the screen."""
    sheet = Sheet(title="T07")
    sheet.add_widget(widget)
    stage.app.shell.lay_over(sheet)
    stage.frames(6)


def picks(stage: Stage) -> list[str]:
    """The rows that are shown."""
    return [name.removeprefix("pick:") for name in stage.targets() if name.startswith("pick:")]


def test_a_list_shows_every_row_by_turning() -> None:
    """Turning to later rows shows each of them once, in order, and the row that is tapped is told."""
    picked: list[str] = []
    with staged(untouched_tree()) as stage:
        picker = ListPicker(choices=[Choice(name, name) for name in NAMES])
        picker.bind(on_pick=lambda _picker, key: picked.append(key))
        lay(stage, picker)
        shown = picks(stage)
        while "later" in stage.targets():
            stage.tap("later")
            stage.frames(3)
            shown += picks(stage)
        assert shown == NAMES
        stage.tap(f"pick:{NAMES[-1]}")
        assert picked == [NAMES[-1]]
        stage.tap("earlier")
        stage.frames(3)
        assert NAMES[-1] not in picks(stage)


def test_an_empty_list_says_what_to_do() -> None:
    """Without rows, a list says the one next thing to do."""
    with staged(untouched_tree()) as stage:
        lay(stage, ListPicker(empty="Load a pack first"))
        assert "Load a pack first" in [label.text for label in stage.labels()]
        assert picks(stage) == []


def test_a_number_is_what_its_keys_say() -> None:
    """Digits and one point make the number; too many digits, a second point and leading zeros do not."""
    told: list[str] = []
    with staged(untouched_tree()) as stage:
        pad = NumberPad(decimal=True, most=3)
        pad.bind(on_done=lambda _pad, digits: told.append(digits))
        lay(stage, pad)
        for key in ("0", "2", "7", ".", ".", "5", "9"):
            stage.tap(f"key:{key}")
        assert pad.digits == "27.5"
        stage.tap("key:back")
        stage.tap("key:done")
        assert told == ["27"]


def test_whole_numbers_have_no_point() -> None:
    """Where no fraction is asked for, the point cannot be tapped."""
    with staged(untouched_tree()) as stage:
        lay(stage, NumberPad())
        assert "key:." not in stage.targets()


def test_nothing_under_a_sheet_can_be_tapped() -> None:
    """A tap where the page's button lies under the sheet does not reach it; after closing it does."""
    desk = untouched_tree()
    with staged(desk) as stage:
        place = stage.middle("sign_off")
        sheet = Sheet(title="T07")
        sheet.bind(on_close=lambda *_: stage.app.shell.lift(sheet))
        stage.app.shell.lay_over(sheet)
        stage.frames(4)
        stage.up(stage.down(*place))
        assert desk.view.board.page.path == "1"
        stage.tap("close")
        stage.tap("sign_off")
        assert desk.view.board.page.path == "2"


def test_the_lock_lets_the_screen_be_wiped() -> None:
    """For ten seconds no touch does anything, and then the screen wakes by itself."""
    desk = untouched_tree()
    with staged(desk) as stage:
        ticking = Ticking()
        lock = ScreenLock(every_second=ticking)
        lock.bind(on_open=lambda *_: stage.app.shell.lift(lock))
        place = stage.middle("sign_off")
        stage.app.shell.lay_over(lock)
        for second in range(LOCK_S):
            stage.clock.now += 1
            stage.up(stage.down(*place))
            assert desk.view.board.page.path == "1"
            assert lock.left == LOCK_S - second
            ticking.call(1.0)
        assert ticking.cancelled
        stage.tap("sign_off")
        assert desk.view.board.page.path == "2"


def test_a_notice_stays_until_it_is_put_away() -> None:
    """A notice is over the screen until its button is tapped."""
    with staged(tree_in_work()) as stage:
        notice = Banner(text="T07", pos_hint={"top": 1})
        notice.bind(on_dismiss=lambda *_: stage.app.shell.lift(notice))
        stage.app.shell.lay_over(notice)
        stage.frames(4)
        stage.tap("dismiss")
        assert stage.app.shell.layers == []
        assert "sign_off" in stage.targets()


def test_another_screen_clears_what_lay_over_the_last() -> None:
    """Going elsewhere leaves no sheet behind."""
    with staged(untouched_tree()) as stage:
        lay(stage, NumberPad())
        stage.app.shell.go("settings")
        stage.frames(2)
        assert "language:fr" in stage.targets()


def test_a_day_of_sheets_leaves_nothing_that_is_told_of_changes() -> None:
    """What was closed is let go: else every sheet would open a little slower than the one before."""
    with staged(tree_in_work()) as stage:
        told = []
        for _ in range(LISTS):
            lay(stage, ListPicker(choices=[Choice(name, name) for name in NAMES]))
            stage.app.shell.lift(stage.app.shell.layers[-1])
            stage.frames(4)
            gc.collect()
            told.append(len(LOOK.followers))
        assert told[1:] == told[:1] * (LISTS - 1)
