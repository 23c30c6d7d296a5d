"""Everything can be hit and read: on every glass, in every language, on every screen."""

from collections.abc import Callable, Iterator

import pytest

from mobile.desk import PracticeDesk
from mobile.ruler import POSITION, TEXT_LEAST
from mobile.widgets.cell_art import head_word
from mobile.widgets.look import LOOK
from mobile.widgets.mesh import text_texture
from mobile.words import Words
from tests.screens.fitting import SIGHTS, WORDS, all_is_well, words_of
from tests.screens.harness import TABLET, Glass, Stage, staged
from tests.screens.layers import LAYERS
from tests.screens.samples import crowded_table, long_line, tree_in_work

pytestmark = [pytest.mark.screen, pytest.mark.usefixtures("compiled_words")]

DESKS: list[Callable[[], PracticeDesk]] = [tree_in_work, long_line, crowded_table]


def screens(glass: Glass, words: Words | None = None) -> Iterator[tuple[str, Stage]]:
    """Every screen and every layer, one after the other."""
    for desk in DESKS:
        with staged(desk(), glass, words) as stage:
            yield desk.__name__, stage
            if desk is not tree_in_work:
                continue
            for name in ("settings", "calibrate"):
                stage.app.shell.go(name)
                stage.frames(4)
                yield name, stage
            for make in LAYERS:
                layer = make()
                stage.app.shell.lay_over(layer)
                stage.frames(6)
                yield make.__name__, stage
                stage.app.shell.lift(layer)


@pytest.mark.parametrize(("glass", "language"), SIGHTS, ids=str)
def test_every_target_is_large_enough_and_every_text_fits(glass: Glass, language: str) -> None:
    """Each target measures what it must in mm, apart from the others and on the screen; no label is clipped or under 20 sp."""
    for screen, stage in screens(glass, words_of(language)):
        all_is_well(screen, stage)


def test_the_word_for_an_arm_fits_its_head() -> None:
    """What is written straight onto the board fits too, at the least size of text."""
    with staged(tree_in_work(), TABLET):
        for language in WORDS:
            LOOK.tongue.words = words_of(language)
            for kind in ("arm", "row", "stretch"):
                width = text_texture(head_word(kind), LOOK.ruler.text(TEXT_LEAST), bold=False).width
                assert width <= LOOK.ruler.px(POSITION * 0.93), (language, head_word(kind))


def test_the_language_changes_at_once() -> None:
    """Choosing a language changes every word on the screen, those of rules and of code alike."""
    with staged(tree_in_work()) as stage:
        stage.tap("back")
        stage.tap("language:es")
        stage.tap("back")
        texts = " ".join(label.text for label in stage.labels())
        assert "Deshacer" in texts
        assert "Nivel 3" in texts
        assert "depredado" in texts
        assert "Undo" not in texts


def test_the_theme_changes_at_once() -> None:
    """Choosing the cabin theme turns the ground dark, buttons included."""
    with staged(tree_in_work()) as stage:
        stage.tap("back")
        assert stage.picture().getpixel((3, 3))[:3] == (255, 255, 255)  # type: ignore[index]
        stage.tap("theme:cabin")
        assert stage.picture().getpixel((3, 3))[:3] == (11, 22, 34)  # type: ignore[index]


def test_measuring_with_a_card_changes_the_size_of_things() -> None:
    """A frame made longer means that everything was drawn too small: targets grow, and it holds for the next start."""
    with staged(tree_in_work()) as stage:
        before = stage.targets()["sign_off"].width
        stage.tap("back")
        stage.tap("calibrate")
        stage.tap("grow:0.5")
        stage.tap("grow:0.5", after_s=0.3)
        stage.tap("fits")
        stage.tap("back")
        stage.frames(4)
        assert stage.app._keeper.now.factor == pytest.approx(86.6 / 85.6)
        assert LOOK.ruler.px(85.6) == pytest.approx(86.6 * 149 / 25.4)
        assert stage.targets()["sign_off"].width == pytest.approx(before * 86.6 / 85.6, abs=1)
