"""The screens of a dive can be hit and read: on every glass, in every language, whatever was entered."""

from pathlib import Path

import pytest

from tests.screens.dive_samples import dive_screens
from tests.screens.fitting import WORDS, all_can_be_hit, all_can_be_read, words_of
from tests.screens.harness import GLASSES, TABLET, Glass

pytestmark = [pytest.mark.screen, pytest.mark.usefixtures("compiled_words")]


@pytest.mark.parametrize("glass", GLASSES, ids=lambda glass: f"{glass.width}x{glass.height}")
def test_every_target_of_a_dive_is_large_enough_apart_and_on_the_screen(tmp_path: Path, glass: Glass) -> None:
    """Places, topics, options, rows and keys alike."""
    for screen, stage in dive_screens(tmp_path, glass):
        all_can_be_hit(screen, stage)


@pytest.mark.parametrize("language", WORDS)
def test_every_text_of_a_dive_fits_its_place(tmp_path: Path, language: str) -> None:
    """Questions, cautions and troubles too."""
    for screen, stage in dive_screens(tmp_path, TABLET, words_of(language)):
        all_can_be_read(screen, stage)
