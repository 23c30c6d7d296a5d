"""Pictures of designs: plans, slates, side views."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from shared_schema.designs import (
    Design,
    Drawing,
    Tree,
)
from tests.shared_schema.designs import ANY_DESIGN, TABLE


@given(ANY_DESIGN, st.floats(50, 2000), st.floats(50, 2000), st.booleans())
def test_pictures_fit_their_box(design: Design, width: float, height: float, y_down: bool) -> None:
    """Every picture shows exactly its positions, inside the margins, and touches them on at least one pair of sides."""
    page = design.pages[-1]
    everything = tuple(position.path for position in design.positions)
    on_page = tuple(position.path for position in page.positions)
    pictures: list[tuple[Drawing, tuple[str, ...]]] = [
        (design.plan(page.path), on_page),
        (design.slate(page.path), on_page),
        (design.side_view(), everything),
    ]
    for drawing, paths in pictures:
        assert tuple(mark.path for mark in drawing.marks) == paths
        left, bottom, right, top = drawing.fit(width, height, 10, y_down=y_down).bounds
        assert min(left, bottom) >= 10 - 1e-6
        assert right <= width - 10 + 1e-6
        assert top <= height - 10 + 1e-6
        if drawing.bounds[0] < drawing.bounds[2] or drawing.bounds[1] < drawing.bounds[3]:
            room = min(width - 20 - (right - left), height - 20 - (top - bottom))
            assert room == pytest.approx(0, abs=1e-6)


def test_a_level_is_drawn_as_seen_from_above() -> None:
    """Arm 1 of the common tree's first level points up on the screen, arm 2 right; the second level is turned."""
    tree = Tree()
    first = {mark.path: (mark.x, mark.y) for mark in tree.plan("1").marks}
    assert first["1.1.5"] == pytest.approx((0, 787.4))
    assert first["1.2.5"] == pytest.approx((787.4, 0))
    second = {mark.path: (mark.x, mark.y) for mark in tree.plan("2").marks}
    assert second["2.1.5"] == pytest.approx((556.8, 556.8))
    assert [segment.kind for segment in tree.plan("1").segments] == ["arm"] * 4
    upside_down = {mark.path: mark.y for mark in tree.plan("1").fit(100, 100, y_down=True).marks}
    assert upside_down["1.1.5"] < 50 < upside_down["1.3.5"]


def test_a_slate_lists_each_arm_on_a_line() -> None:
    """Four arms of five make four lines of five, one unit apart; longer rows are broken."""
    marks = {mark.path: (mark.x, mark.y) for mark in Tree().slate("3").marks}
    assert [marks["3.1.1"], marks["3.2.4"]] == [(0, 0), (3, -1)]
    broken = {mark.path: (mark.x, mark.y) for mark in TABLE.slate("1", wide=6).marks}
    assert [broken["1.6"], broken["1.7"], broken["1.11"]] == [(5, 0), (0, -1), (0, -2)]


@given(ANY_DESIGN, st.integers(1, 12))
def test_no_two_targets_of_a_slate_overlap(design: Design, wide: int) -> None:
    """However a page is broken into lines, no two marks share a cell and none is wider out than asked."""
    for page in design.pages:
        cells = {(mark.x, mark.y) for mark in design.slate(page.path, wide).marks}
        assert len(cells) == len(page.positions)
        assert max(x for x, _ in cells) < wide


def test_no_coral_of_the_common_tree_hides_another_in_the_side_view() -> None:
    """Seen from the side and a little from above, all hundred positions are 6 cm apart; the first level is on top."""
    marks = Tree().side_view().marks
    points = [(mark.x, mark.y) for mark in marks]
    gaps = [math.dist(one, other) for index, one in enumerate(points) for other in points[:index]]
    assert min(gaps) > 60
    middles = [sum(y for _, y in points[start : start + 20]) / 20 for start in range(0, 100, 20)]
    assert middles == sorted(middles, reverse=True)
