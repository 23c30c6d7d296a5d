"""The structures that nurseries build, to the number: trees, lines, tables, frames, blocks."""

import math
from decimal import Decimal

import pytest

from shared_schema.designs import (
    COMFORTABLE_PAGE,
    Frame,
    Line,
    Tree,
    design_fields,
    design_json,
    parse_design,
    to_mm,
)
from shared_schema.errors import DesignError
from tests.shared_schema.designs import TABLE


def test_the_common_tree_is_written_in_inches_that_a_person_can_read() -> None:
    """The wire form of the default tree, to the letter: records that exist depend on it."""
    assert design_json(Tree()) == (
        '{"design":"tree","unit":"in","levels":5,"arms":4,"holes":["7","13","19","25","31"],"arm_length":"33",'
        '"trunk_length":"72","first_level":"12","level_spacing":"12","turn":"45"}'
    )


def test_the_common_tree_carries_a_hundred_corals() -> None:
    """Common practice: five levels, at 12 in and every 12 in, of four arms, holes at 7, 13, 19, 25, 31 in."""
    tree = Tree()
    assert tree.count == len(tree.positions) == 100
    assert [(page.kind, len(page.positions)) for page in tree.pages] == [("level", 20)] * 5
    assert [to_mm(Decimal(inches), "in") for inches in (12, 24, 36, 48, 60)] == list(tree.level_marks)
    for page, mark in zip(tree.pages, tree.level_marks, strict=True):
        assert {position.z for position in page.positions} == {-mark}
        for arm in page.groups:
            assert [position.along / Decimal("25.4") for position in arm.positions] == [7, 13, 19, 25, 31]
            for position in arm.positions:
                assert math.hypot(position.x, position.y) == pytest.approx(float(position.along), abs=0.1)


def test_the_arms_of_the_common_tree_are_not_one_above_another() -> None:
    """Common practice: each cross is turned 45 degrees from its neighbour."""
    for page in Tree().pages:
        bearings = [arm.bearing for arm in page.groups]
        assert bearings == ([0, 90, 180, 270] if page.path in {"1", "3", "5"} else [45, 135, 225, 315])
        for arm in page.groups:
            tip = arm.positions[-1]
            clockwise = math.degrees(math.atan2(tip.x, tip.y)) % 360
            assert clockwise == pytest.approx(float(arm.bearing or 0), abs=0.01)


def test_a_tree_position_says_where_it_is() -> None:
    """Level 3, arm 2, hole 4 of the common tree: its labels, its order, and what hangs beside it."""
    place = Tree().position("3.2.4")
    assert place.labels == (("level", 3), ("arm", 2), ("hole", 4))
    assert place.order == 2 * 20 + 1 * 5 + 3
    assert (place.x, place.y, place.z) == (Decimal("635.0"), Decimal(0), Decimal("-914.4"))
    assert place.neighbours == ("2.1.4", "2.2.4", "3.2.3", "3.2.5", "4.1.4", "4.2.4")


def test_innermost_holes_neighbour_each_other_round_the_trunk() -> None:
    """Arms side by side crowd at the trunk: their first holes are neighbours, the last of the arms closes the ring."""
    tree = Tree()
    assert {path for path in tree.position("1.1.1").neighbours if path.startswith("1.")} == {"1.1.2", "1.2.1", "1.4.1"}
    assert {path for path in tree.position("1.1.2").neighbours if path.startswith("1.")} == {"1.1.1", "1.1.3"}


def test_the_published_frame_has_109_meshes_a_side() -> None:
    """A frame of 6 x 6 m with a mesh of 5.5 cm [Frias-Torres et al. 2015]: 109 whole meshes each way."""
    frame = Frame(unit="cm", length=Decimal(600), width=Decimal(600), mesh=Decimal("5.5"), every=5)
    assert frame.meshes == (109, 109)
    assert frame.count == 22 * 22
    assert [(page.kind, len(page.positions)) for page in frame.pages] == [("row", 22)] * 22
    assert (frame.position("1.1").x, frame.position("1.1").y) == (Decimal("27.5"), Decimal("-27.5"))
    assert frame.position("1.2").along - frame.position("1.1").along == 5 * 55
    with pytest.raises(DesignError, match=r"11881 positions.*5000.*raise every"):
        parse_design({**design_fields(frame), "every": 1})


def test_long_rows_of_a_frame_are_cut_into_pages_that_fingers_can_hit() -> None:
    """With every third mesh a row has 37 corals: two pages, none crowded."""
    frame = parse_design({"design": "frame", "unit": "m", "length": 6, "width": 6, "mesh": "0.055", "every": 3})
    assert [len(page.positions) for page in frame.pages[:2]] == [25, 12]
    assert {page.kind for page in frame.pages} == {"stretch"}
    assert not any(page.crowded for page in frame.pages)
    assert "2.1" in frame.position("1.25").neighbours
    assert frame.position("2.1").labels == (("row", 1), ("column", 26))


def test_a_line_counts_its_places_exactly() -> None:
    """10 m with a coral every 10 cm has 101 places, both ends included; binary floats would lose the last."""
    line = Line(unit="m", length=Decimal(10), spacing=Decimal("0.1"))
    assert line.count == 101
    assert [(page.kind, len(page.positions)) for page in line.pages] == [("stretch", 20)] * 5 + [("stretch", 1)]
    assert line.position("6.1").along == 10_000
    assert line.position("2.1").neighbours == ("1.20", "2.2")
    assert line.position("1.7").labels == (("stretch", 1), ("place", 7))


def test_a_vertical_line_is_read_from_the_top() -> None:
    """Along an upright rope z falls, and the plan shows it upright."""
    line = Line(unit="cm", length=Decimal(500), spacing=Decimal(50), first=Decimal(100), rope="vertical")
    assert [position.z for position in line.positions] == [-mm for mm in range(1000, 5001, 500)]
    assert [(mark.x, mark.y) for mark in line.plan("1").marks[:2]] == [(0.0, -1000.0), (0.0, -1500.0)]


def test_a_page_of_a_table_may_hold_several_rows() -> None:
    """Four rows of ten, two to a page: the address counts on the page, the labels say row and column of the table."""
    place = TABLE.position("2.15")
    assert place.labels == (("row", 4), ("column", 5))
    assert place.neighbours == ("2.5", "2.14", "2.16")
    assert [place.along, place.x, place.y, place.z] == [600, 600, -450, 0]
    assert TABLE.position("2.5").neighbours == ("1.15", "2.4", "2.6", "2.15")
    assert [(group.kind, group.number) for group in TABLE.page("2").groups] == [("row", 3), ("row", 4)]


def test_a_block_carries_its_corals_at_its_height() -> None:
    """The places of a block are on its top, in rows that may lie wider than the places in a row."""
    fields = {"design": "block", "unit": "cm", "rows": 2, "columns": 5, "spacing": 10, "row_spacing": 25, "height": 40}
    block = parse_design(fields)
    assert {position.z for position in block.positions} == {400}
    corner = block.position("2.5")
    assert [corner.x, corner.y] == [400, -250]


def test_a_page_that_is_hard_to_hit_says_so() -> None:
    """More than 25 positions on a page are too many for thick fingers, 25 are not."""
    fields = {"design": "line", "unit": "cm", "length": 1000, "spacing": 10}
    comfortable = parse_design({**fields, "per_stretch": COMFORTABLE_PAGE})
    crowded = parse_design({**fields, "per_stretch": COMFORTABLE_PAGE + 1})
    assert [comfortable.pages[0].crowded, crowded.pages[0].crowded] == [False, True]
