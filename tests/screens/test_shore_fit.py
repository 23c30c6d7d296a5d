"""The screens before and after a dive can be hit and read: on every glass, in every language, whatever they have to say."""

from pathlib import Path

import pytest

from tests.screens.fitting import SIGHTS, all_is_well, words_of
from tests.screens.harness import Glass
from tests.screens.shore_samples import shore_screens

pytestmark = [pytest.mark.screen, pytest.mark.usefixtures("compiled_words")]


@pytest.mark.parametrize(("glass", "language"), SIGHTS, ids=str)
def test_every_target_ashore_is_large_enough_and_every_text_fits(tmp_path: Path, glass: Glass, language: str) -> None:
    """Keys, rows and buttons alike; every trouble and every empty list too."""
    for screen, stage in shore_screens(tmp_path, glass, words_of(language)):
        all_is_well(screen, stage)
