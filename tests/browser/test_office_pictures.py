"""The pictures of the guide are of the pages that there are."""

import pytest

from tests.browser.office_pictures import HERE, LANGUAGES, SIZES, pictures

MOST: int = 12_000_000
"""Bytes of all of them: they are part of every clone."""


@pytest.mark.parametrize("language", LANGUAGES)
@pytest.mark.parametrize("size", SIZES)
def test_every_page_has_its_pictures(size: str, language: str) -> None:
    """Full and empty, in each size and language, and none of a page that is gone: python -m tests.browser.office_pictures."""
    assert {path.stem for path in (HERE / f"{size}-{language}").glob("*.png")} == pictures(size)


def test_the_pictures_stay_small() -> None:
    """All together."""
    assert sum(path.stat().st_size for path in HERE.rglob("*.png")) < MOST
