"""What is copied from frame to frame looks as if it were drawn anew each time."""

from collections.abc import Callable
from typing import Any

import pytest
from kivy.graphics.context import get_context
from kivy.uix.boxlayout import BoxLayout
from PIL import Image, ImageChops

from mobile.widgets.buttons import BigButton
from mobile.widgets.plate import KeptBox
from tests.screens.harness import Stage, staged
from tests.screens.samples import tree_in_work
from tests.screens.test_widgets import lay

pytestmark = [pytest.mark.screen, pytest.mark.usefixtures("compiled_words")]

TAPS = ("3.1.2", "status:sick", "3.4.1", "3.3.5", "status:alive", "arm:2", "status:unseen", "undo", "3.2.2", "status:dead")
SINGLE_STEP = 1  # of 255: two shades laid over each other are rounded once more


def differ(one: Image.Image, other: Image.Image) -> int:
    """By how much the pixels of two pictures differ at most."""
    difference = ImageChops.difference(one.convert("RGB"), other.convert("RGB"))
    return max(difference.tobytes())


def drawn_whole(stage: Stage) -> Image.Image:
    """The page after its board was drawn anew."""
    stage.app.shell.screens.current_screen.board.build()
    return stage.picture()


@pytest.mark.parametrize("paints", [True, False], ids=["each frame seen", "frames skipped"])
def test_a_board_that_was_painted_over_looks_as_one_drawn_whole(*, paints: bool) -> None:
    """After every tap of a crowded page, whether a frame was shown in between or not."""
    with staged(tree_in_work()) as stage:
        stage.picture()
        stage.paints = paints
        for name in TAPS:
            stage.tap(name)
        assert differ(stage.picture(), drawn_whole(stage)) == 0


def test_a_picture_that_the_system_took_away_is_drawn_again() -> None:
    """As it takes all of them from a program that was in the background: the board, and the row of statuses below it."""
    with staged(tree_in_work()) as stage:
        stage.tap("3.1.2")
        page, before = stage.app.shell.screens.current_screen, stage.picture()
        get_context().reload()
        after = stage.picture()
        for shown in (page.board, page.ids.statuses):
            x, y, right, top = shown.x, shown.y, shown.right, shown.top
            box = (round(x), round(stage.glass.height - top), round(right), round(stage.glass.height - y))
            assert differ(before.crop(box), after.crop(box)) == 0


def row(box: Callable[..., Any]) -> tuple[Image.Image, Image.Image]:
    """A row of buttons, and the same after all that may happen to one."""
    with staged(tree_in_work()) as stage:
        held = box(spacing=40)
        buttons = [BigButton(text=text, role=role) for text, role in (("One", "plain"), ("Two", "main"), ("Three", "chosen"))]
        for button in buttons:
            held.add_widget(button)
        lay(stage, held)
        first = stage.picture()
        stage.app.change(theme="cabin")
        held.remove_widget(buttons[1])
        buttons[0].text, buttons[2].role = "Another word", "danger"
        held.padding = 30
        stage.down(*buttons[2].center)
        return first, stage.picture()


def test_a_kept_row_looks_as_a_plain_one() -> None:
    """At first, and after its words, colours, places and number changed."""
    for kept, plain in zip(row(KeptBox), row(BoxLayout), strict=True):
        assert differ(kept, plain) <= SINGLE_STEP
