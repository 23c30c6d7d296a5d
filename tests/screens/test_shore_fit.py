"""The screens before and after a dive can be hit and read: on every glass, in every language, whatever they have to say."""

from pathlib import Path

import pytest

from tests.screens.fitting import WORDS, all_can_be_hit, all_can_be_read, words_of
from tests.screens.harness import GLASSES, TABLET, Glass
from tests.screens.shore_samples import shore_screens

pytestmark = [pytest.mark.screen, pytest.mark.usefixtures("compiled_words")]


@pytest.mark.parametrize("glass", GLASSES, ids=lambda glass: f"{glass.width}x{glass.height}")
def test_every_target_ashore_is_large_enough_apart_and_on_the_screen(tmp_path: Path, glass: Glass) -> None:
    """Keys, rows and buttons alike."""
    for screen, stage in shore_screens(tmp_path, glass):
        all_can_be_hit(screen, stage)


@pytest.mark.parametrize("language", WORDS)
def test_every_text_ashore_fits_its_place(tmp_path: Path, language: str) -> None:
    """Every trouble and every empty list too."""
    for screen, stage in shore_screens(tmp_path, TABLET, words_of(language)):
        all_can_be_read(screen, stage)
