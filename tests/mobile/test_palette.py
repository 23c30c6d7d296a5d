"""Conditions can be told apart in the sun, by people who see colours differently, and in every language."""

from itertools import combinations
from typing import get_args

import colorspacious
import numpy as np
import pytest

from mobile.palette import BLACK, CONDITIONS, NOT_LOOKED_AT, Colour, blend, colour
from mobile.shapes import SHAPES
from mobile.sign import letter_spot
from mobile.theme import THEMES, Theme
from mobile.words import LANGUAGES, read_words
from shared_schema.facts import Status

pytestmark = pytest.mark.usefixtures("compiled_words")

EYES = (None, "protanomaly", "deuteranomaly", "tritanomaly")


def luminance(paint: Colour) -> float:
    """Relative luminance (WCAG 2.2)."""
    red, green, blue = (part / 12.92 if part <= 0.04045 else ((part + 0.055) / 1.055) ** 2.4 for part in paint[:3])
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue


def contrast(one: Colour, other: Colour) -> float:
    """Contrast ratio (WCAG 2.2), 1 to 21."""
    dark, light = sorted((luminance(one), luminance(other)))
    return (light + 0.05) / (dark + 0.05)


def seen(paint: Colour, eye: str | None) -> np.ndarray:
    """A colour in CAM02-UCS as an eye sees it; a missing cone as Machado et al. (2009) at full severity."""
    rgb = np.array(paint[:3])
    if eye is not None:
        space = {"name": "sRGB1+CVD", "cvd_type": eye, "severity": 100}
        rgb = np.clip(colorspacious.cspace_convert(rgb, space, "sRGB1"), 0, 1)
    return np.asarray(colorspacious.cspace_convert(rgb, "sRGB1", "CAM02-UCS"))


def test_every_status_of_the_record_has_a_look_of_its_own() -> None:
    """No status lacks a sign, and no two share a shape, a fill or a word."""
    assert set(CONDITIONS) == set(get_args(Status))
    for field in ("shape", "fill", "word", "letter"):
        looks = [getattr(condition, field) for condition in (*CONDITIONS.values(), NOT_LOOKED_AT)]
        assert len(set(looks)) == len(looks), field


@pytest.mark.parametrize("eye", EYES)
def test_fills_are_far_apart_for_every_eye(eye: str | None) -> None:
    """Any two fills are at least 24 apart in CAM02-UCS, whichever cone is missing."""
    fills = {name: seen(condition.fill, eye) for name, condition in CONDITIONS.items() if condition.fill is not None}
    nearest = min((float(np.linalg.norm(fills[a] - fills[b])), a, b) for a, b in combinations(fills, 2))
    assert nearest[0] >= 24, nearest


def test_letters_stand_out_on_their_fills() -> None:
    """A letter has a contrast of at least 7 on its fill."""
    for condition in CONDITIONS.values():
        assert condition.fill is not None
        assert contrast(condition.letter_colour, condition.fill) >= 7, condition.status


@pytest.mark.parametrize("theme", THEMES.values(), ids=list(THEMES))
def test_words_stand_out_in_both_themes(theme: Theme) -> None:
    """Every text has a contrast of at least 7 on whatever it is written on, and a status word 10."""
    for ground in (theme.ground, theme.surface, theme.pressed):
        assert contrast(theme.text, ground) >= (7 if ground == theme.pressed else 10)
    for ground in (theme.ground, theme.surface):
        assert contrast(theme.muted, ground) >= 7
    for ink, ground in (
        (theme.on_main, theme.main),
        (theme.on_danger, theme.danger),
        (theme.on_good, theme.good),
        (theme.on_look, theme.look),
        (theme.on_stop, theme.stop),
    ):
        assert contrast(ink, ground) >= 7


@pytest.mark.parametrize("theme", THEMES.values(), ids=list(THEMES))
def test_signs_stand_out_from_their_tiles(theme: Theme) -> None:
    """A sign's outline has a contrast of at least 10 against the tile, whatever its fill; the ring too."""
    for edge in (theme.outline, theme.ring):
        assert contrast(edge, theme.ground) >= 10
        assert contrast(edge, theme.surface) >= 10


@pytest.mark.parametrize("language", LANGUAGES)
def test_no_letter_comes_twice_in_a_language(language: str) -> None:
    """Every condition has one letter of its own in every language, and none is the question mark of the unseen."""
    words = read_words(language)
    letters = [words.letter(condition.letter) for condition in CONDITIONS.values()]
    assert all(len(letter) == 1 and letter.isalpha() and letter.isupper() for letter in letters)
    assert len(set(letters)) == len(letters), letters


@pytest.mark.parametrize("language", LANGUAGES)
def test_a_letter_is_in_its_word(language: str) -> None:
    """A letter is the first of its word, or one could not guess it."""
    words = read_words(language)
    for condition in CONDITIONS.values():
        word = words.text(condition.word)
        assert word[0].upper() == words.letter(condition.letter), (language, word)


def test_letters_fit_into_their_signs() -> None:
    """The box round the widest letter lies within the shape that it is written on."""
    for condition in CONDITIONS.values():
        spot = letter_spot(condition, 0, 0, 1)
        wide, high = spot.em * 0.36, spot.em * 0.36  # half of a capital: Roboto Bold is 0.71 em high, M about 0.87 wide
        corners = [(spot.x + dx, spot.y + dy) for dx in (-wide, wide) for dy in (-high, high)]
        assert all(inside(corner, SHAPES[condition.shape].points) for corner in corners), condition.status


def inside(point: tuple[float, float], outline: tuple[tuple[float, float], ...]) -> bool:
    """Whether a point lies in a polygon (even-odd rule)."""
    x, y = point
    crossings = 0
    for (x1, y1), (x2, y2) in zip(outline, (*outline[1:], outline[0]), strict=True):
        if (y1 > y) != (y2 > y) and x < x1 + (y - y1) / (y2 - y1) * (x2 - x1):
            crossings += 1
    return crossings % 2 == 1


def test_colours_are_read_as_written() -> None:
    """#RRGGBB gives its parts, and anything else is refused with its value."""
    assert colour("#FF0080") == (1.0, 0.0, 128 / 255, 1.0)
    assert blend(colour("#FFFFFF"), BLACK, 0.25) == (0.25, 0.25, 0.25, 1.0)
    with pytest.raises(ValueError, match="'red' is no colour"):
        colour("red")
