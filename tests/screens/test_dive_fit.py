"""The screens of a dive can be hit and read: on every glass, in every language, whatever was entered."""

from pathlib import Path

import pytest

from tests.screens.dive_samples import dive_screens
from tests.screens.fitting import SIGHTS, all_is_well, words_of
from tests.screens.harness import Glass

pytestmark = [pytest.mark.screen, pytest.mark.usefixtures("compiled_words")]


@pytest.mark.parametrize(("glass", "language"), SIGHTS, ids=str)
def test_every_target_of_a_dive_is_large_enough_and_every_text_fits(tmp_path: Path, glass: Glass, language: str) -> None:
    """Places, topics, options, rows and keys; questions, cautions and troubles."""
    for screen, stage in dive_screens(tmp_path, glass, words_of(language)):
        all_is_well(screen, stage)
