"""What holds for every screen: all that can be tapped can be hit, and all that is written can be read."""

from itertools import combinations, cycle
from typing import Final

from mobile.ruler import GAP, TEXT_LEAST
from mobile.widgets.look import LOOK
from mobile.words import LANGUAGES, Words, read_words
from tests.screens.harness import GLASSES, Glass, Stage
from tests.words import long_words

__all__ = ["SIGHTS", "WORDS", "all_can_be_hit", "all_can_be_read", "all_is_well", "words_of"]

WORDS: Final = [*LANGUAGES, "long"]
"""Every language, and one a third longer than English."""


SIGHTS: Final[tuple[tuple[Glass, str], ...]] = tuple(zip(cycle(GLASSES), [name for name in WORDS if name != "en"], strict=False))
"""Every language once and every glass at least once: a language changes no size in mm, and a glass no word. What fits a third
longer fits in English."""


def words_of(language: str) -> Words:
    """A language's words, or those that are longer than any."""
    return long_words() if language == "long" else read_words(language)


def all_is_well(screen: str, stage: Stage) -> None:
    """Both of what is below."""
    all_can_be_hit(screen, stage)
    all_can_be_read(screen, stage)


def all_can_be_hit(screen: str, stage: Stage) -> None:
    """Each target measures at least what it must in mm, none reaches over the edge, and any two are 3 mm apart."""
    ruler, slack, glass = LOOK.ruler, 1.5, stage.glass  # what rounding to whole pixels may take
    assert ruler.density == glass.density
    spots = list(stage.top_targets())
    for spot in spots:
        across = min(spot.width, spot.height)
        assert across >= ruler.px(spot.least_mm) - slack, f"{screen}: {spot.name} is {ruler.mm(across):.1f} mm"
        assert spot.x >= 0, (screen, spot)
        assert spot.y >= 0, (screen, spot)
        assert spot.x + spot.width <= glass.width + slack, (screen, spot)
        assert spot.y + spot.height <= glass.height + slack, (screen, spot)
    for one, other in combinations(spots, 2):
        beside = max(one.x, other.x) - min(one.x + one.width, other.x + other.width)
        up = max(one.y, other.y) - min(one.y + one.height, other.y + other.height)
        need = 6.0 if one.name.startswith("status:") and other.name.startswith("status:") else GAP
        assert max(beside, up) >= ruler.px(need) - slack, f"{screen}: {one.name} and {other.name} are too near"


def all_can_be_read(screen: str, stage: Stage) -> None:
    """No label is clipped, smaller than 20 sp, larger than its place or over the edge of the screen."""
    for label in stage.labels():
        where = f"{screen}: {label.text!r} in {label.width:.0f} x {label.height:.0f}"
        assert not label.clipped, where
        assert label.font_size >= LOOK.ruler.text(TEXT_LEAST) - 0.01, where
        assert label.texture_size[0] <= label.width + 1, where
        assert label.texture_size[1] <= label.height + 1, where
        x, y = label.to_window(label.x, label.y)
        assert x >= -1, where
        assert y >= -1, where
        assert x + label.width <= stage.glass.width + 1, where
        assert y + label.height <= stage.glass.height + 1, where
