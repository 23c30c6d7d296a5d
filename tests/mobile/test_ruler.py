"""A millimetre on the tablet is a millimetre, whatever the platform reports."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from mobile.ruler import CARD_LONG, TEXT_LEAST, Ruler

DPI = st.floats(60, 600)
DENSITY = st.floats(0.75, 4)
FACTOR = st.floats(0.3, 4)


@given(DPI, DENSITY, FACTOR, st.floats(0.1, 300))
def test_pixels_and_millimetres_are_each_others_inverse(dpi: float, density: float, factor: float, mm: float) -> None:
    """What is drawn so many mm long measures so many mm."""
    ruler = Ruler(dpi, density, factor=factor)
    assert ruler.mm(ruler.px(mm)) == pytest.approx(mm)


@given(DPI, DPI, DENSITY)
def test_a_card_puts_a_lying_screen_right(reported: float, true: float, density: float) -> None:
    """After measuring a card, an inch is an inch, however far off the reported dpi was."""
    card_px = CARD_LONG / 25.4 * true
    ruler = Ruler(reported, density).calibrated(card_px)
    assert ruler.px(25.4) == pytest.approx(true)


@given(DPI, DENSITY, FACTOR)
def test_text_is_never_smaller_than_its_points(dpi: float, density: float, factor: float) -> None:
    """The smallest text is at least 20/160 of an inch high on the glass, even where the platform reports density 1."""
    ruler = Ruler(dpi, density, factor=factor)
    assert ruler.mm(ruler.text(TEXT_LEAST)) >= 20 / 160 * 25.4 - 1e-9
    assert ruler.text(TEXT_LEAST) >= 20 * density - 1e-9


@pytest.mark.parametrize("name", ["dpi", "density", "font_scale", "factor"])
def test_a_ruler_of_nothing_is_refused(name: str) -> None:
    """A size that is not positive is named with its value."""
    with pytest.raises(ValueError, match=f"{name} = 0"):
        Ruler(**{name: 0})
