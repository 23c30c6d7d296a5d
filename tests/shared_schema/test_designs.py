"""Designs: a structure's parameters say where every coral hangs, in what order it is read, and what hangs beside it."""

import json
import math
from decimal import Decimal
from fractions import Fraction
from typing import Any, NoReturn

import pytest
from hypothesis import given
from hypothesis import strategies as st

from shared_schema.designs import (
    COMFORTABLE_PAGE,
    MOST_POSITIONS,
    Design,
    Drawing,
    Frame,
    Line,
    Position,
    Table,
    Tree,
    design_fields,
    design_json,
    parse_design,
    to_mm,
)
from shared_schema.errors import DesignError, NothingSuch
from shared_schema.ids import parse_address

UNITS = st.sampled_from(["mm", "cm", "in"])
LENGTHS = st.decimals(1, 50, places=2)
SMALL = st.integers(1, 8)


@st.composite
def trees(draw: st.DrawFn) -> Design:
    """Trees of up to six levels, with any turn."""
    steps = draw(st.lists(LENGTHS, min_size=1, max_size=6))
    holes = [sum(steps[: index + 1], Decimal(0)) for index in range(len(steps))]
    levels, first, spacing = draw(st.integers(1, 6)), draw(LENGTHS), draw(LENGTHS)
    fields = {
        "unit": draw(UNITS),
        "levels": levels,
        "arms": draw(st.integers(1, 8)),
        "holes": holes,
        "arm_length": holes[-1] + 1,
        "trunk_length": first + levels * spacing,
        "first_level": first,
        "level_spacing": spacing,
        "turn": draw(st.decimals(0, Decimal("359.9"), places=1)),
    }
    return parse_design({"design": "tree", **fields})


@st.composite
def lines(draw: st.DrawFn) -> Design:
    """Lines of up to about a hundred places, upright or not."""
    first, spacing = draw(LENGTHS), draw(LENGTHS)
    fields = {
        "unit": draw(UNITS),
        "length": first + draw(st.integers(0, 100)) * spacing + draw(st.decimals(0, 1, places=2)),
        "spacing": spacing,
        "first": first,
        "per_stretch": draw(st.integers(1, 30)),
        "rope": draw(st.sampled_from(["horizontal", "vertical"])),
    }
    return parse_design({"design": "line", **fields})


@st.composite
def flat_tops(draw: st.DrawFn) -> Design:
    """Tables and blocks, cut into pages in any way."""
    fields = {
        "unit": draw(UNITS),
        "rows": draw(SMALL),
        "columns": draw(st.integers(1, 30)),
        "spacing": draw(LENGTHS),
        "row_spacing": draw(LENGTHS),
        "rows_per_page": draw(st.integers(1, 3)),
        "columns_per_page": draw(st.integers(1, 30)),
    }
    if draw(st.booleans()):
        return parse_design({"design": "block", "height": draw(LENGTHS), **fields})
    return parse_design({"design": "table", **fields})


@st.composite
def frames(draw: st.DrawFn) -> Design:
    """Frames with up to 40 meshes a side."""
    mesh, first = draw(st.decimals(1, 10, places=2)), draw(st.integers(1, 4))
    fields = {
        "unit": draw(UNITS),
        "length": mesh * draw(st.integers(first, 40)),
        "width": mesh * draw(st.integers(first, 40)),
        "mesh": mesh,
        "every": draw(st.integers(2, 5)),
        "first_mesh": first,
        "rows_per_page": draw(st.integers(1, 3)),
        "columns_per_page": draw(st.integers(1, 25)),
        "hangs": draw(st.sampled_from(["horizontal", "vertical"])),
    }
    return parse_design({"design": "frame", **fields})


ANY_TREE, ANY_DESIGN = trees(), st.one_of(trees(), lines(), flat_tops(), frames())
TABLE = parse_design({"design": "table", "unit": "cm", "rows": 4, "columns": 10, "spacing": "15", "rows_per_page": 2})


def as_numbers(path: str) -> tuple[int, ...]:
    """`3.2.4` -> (3, 2, 4)."""
    return tuple(map(int, path.split(".")))


def apart(one: Position, other: Position) -> float:
    """Distance in mm."""
    return math.dist(*((float(each.x), float(each.y), float(each.z)) for each in (one, other)))


@given(ANY_DESIGN)
def test_every_position_has_an_address_and_a_place_of_its_own(design: Design) -> None:
    """No two corals share an address or a point, and each address is one that the record can carry."""
    positions = design.positions
    assert len({position.path for position in positions}) == len(positions) == design.count
    assert len({(position.x, position.y, position.z) for position in positions}) == len(positions)
    for position in positions:
        address = parse_address(f"T07/{position.path}")
        assert address.page == f"T07/{position.page}"
        assert design.position(position.path) is position


@given(ANY_DESIGN)
def test_positions_are_read_in_the_order_of_their_addresses(design: Design) -> None:
    """Reading order numbers all positions from 0 without a gap, and follows the numbers of the address."""
    assert [position.order for position in design.positions] == list(range(design.count))
    paths = [as_numbers(position.path) for position in design.positions]
    assert paths == sorted(paths)


@given(ANY_DESIGN)
def test_pages_share_out_the_positions(design: Design) -> None:
    """Read page after page, and group after group, each position comes exactly once and in reading order."""
    by_page = tuple(position for page in design.pages for position in page.positions)
    by_group = tuple(position for page in design.pages for group in page.groups for position in group.positions)
    assert by_page == by_group == design.positions
    assert [page.path for page in design.pages] == [str(number) for number in range(1, len(design.pages) + 1)]
    for page in design.pages:
        assert design.page(page.path) is page
        assert {position.page for position in page.positions} == {page.path}
        for group in page.groups:
            assert {position.group for position in group.positions} == {group.number}


@given(ANY_DESIGN)
def test_being_a_neighbour_is_mutual(design: Design) -> None:
    """What hangs beside a coral has that coral beside it, and nothing hangs beside itself."""
    for position in design.positions:
        assert position.path not in position.neighbours
        assert len(set(position.neighbours)) == len(position.neighbours)
        for path in position.neighbours:
            assert position.path in design.position(path).neighbours


@given(ANY_DESIGN)
def test_no_coral_hangs_apart_from_all_others(design: Design) -> None:
    """From any position, every other is reached by going from neighbour to neighbour."""
    reached: set[str] = set()
    ahead = [design.positions[0].path]
    while ahead:
        path = ahead.pop()
        if path not in reached:
            reached.add(path)
            ahead.extend(design.position(path).neighbours)
    assert len(reached) == design.count


@given(ANY_TREE)
def test_neighbours_on_another_level_are_the_nearest_there(design: Design) -> None:
    """On the level above and below, no arm carries the same hole nearer than the arms of the neighbours do."""
    for position in design.positions:
        level, _, hole = as_numbers(position.path)
        same_hole = [each for each in design.positions if as_numbers(each.path)[2] == hole]
        for other_level in (level - 1, level + 1):
            there = [each for each in same_hole if each.page == str(other_level)]
            nearest = min((apart(position, each) for each in there), default=0.0)
            beside = [each for each in there if each.path in position.neighbours]
            assert bool(beside) is bool(there)
            # Coordinates are rounded to 0.1 mm.
            assert all(apart(position, each) <= nearest + 0.4 for each in beside)


@given(ANY_TREE)
def test_each_level_is_turned_against_the_one_above(design: Design) -> None:
    """The arms of a level point where those above do, turned by the design's angle; arm 1 comes first."""
    assert isinstance(design, Tree)
    for level in range(1, design.levels + 1):
        bearings = design.bearings(level)
        assert bearings == tuple(sorted(bearings))
        assert 0 <= bearings[0] < Fraction(360, design.arms)
        if level > 1:
            turned = {(bearing + Fraction(design.turn)) % 360 for bearing in design.bearings(level - 1)}
            assert set(bearings) == turned


@given(ANY_DESIGN)
def test_a_design_survives_the_wire(design: Design) -> None:
    """Written as JSON and read again it is the same design, in the same words, and without one binary float."""

    def no_floats(text: str) -> NoReturn:
        pytest.fail(f"{text} stands as a binary float in {design_json(design)}")

    fields = json.loads(design_json(design), parse_float=no_floats)
    assert fields == design_fields(design)
    assert next(iter(fields)) == "design"
    again = parse_design(fields)
    assert again == design
    assert design_json(again) == design_json(design)


def test_equal_designs_share_their_positions() -> None:
    """A thousand trees of one design are laid out once, and 7 and 7.0 are one design with one text."""
    tree = parse_design({"design": "tree", "holes": ["7.0", 13, Decimal("19.00"), "25", "31"]})
    assert tree == Tree()
    assert tree.positions is Tree().positions
    assert design_json(tree) == design_json(Tree())


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


LINE = {"design": "line", "unit": "cm", "length": "100", "spacing": "10"}
REFUSED: list[tuple[dict[str, Any], str]] = [
    ({}, "does not name its design.*tree, line, table, frame, block"),
    ({"design": "bush"}, "'bush'.*does not name its design"),
    ({"design": "tree", "levels": 0}, "levels = 0: .*greater than or equal to 1"),
    ({"design": "tree", "levels": "5"}, "levels = '5'"),
    ({"design": "tree", "levels": 9}, "levels: the last of 9 is at 108 in on a trunk of 72 in: take fewer"),
    ({"design": "tree", "holes": ["7", 7.5]}, r"holes\.1 = 7\.5: no exact number"),
    ({"design": "tree", "holes": ["7", "7"]}, "holes: 7 comes after 7: list them"),
    ({"design": "tree", "holes": ["33"]}, "holes: the last is at 33 in on an arm of 33 in: bring it in"),
    ({"design": "tree", "holes": []}, "holes = "),
    ({"design": "tree", "turn": "360"}, "turn = '360': .*less than 360"),
    ({"design": "tree", "bark": "rough"}, "bark = 'rough': no parameter of this design: leave it out"),
    ({"design": "tree", "arms": 24}, "120 positions on one page and 100 are the most: take fewer"),
    ({"design": "line", "unit": "cm", "length": "100"}, "spacing: this parameter is missing: give it"),
    ({**LINE, "unit": "yd"}, "unit = 'yd': .*'mm', 'cm', 'm', 'in' or 'ft'"),
    ({**LINE, "spacing": "0"}, "spacing = '0': .*greater than 0"),
    ({**LINE, "spacing": "-10"}, "spacing = '-10': no exact number"),
    ({**LINE, "spacing": "1e1"}, "spacing = '1e1': no exact number"),
    ({**LINE, "spacing": "NaN"}, "spacing = 'NaN': no exact number"),
    ({**LINE, "spacing": True}, "spacing = True: no exact number"),
    ({**LINE, "spacing": "0.000001"}, "at most 6 before and 5 after the point"),
    ({**LINE, "spacing": "0.01"}, "10001 positions and 5000 are the most.*take a wider spacing"),
    ({**LINE, "first": "101"}, "first: the first coral is at 101 cm on a length of 100 cm: bring it in"),
    ({"design": "table", "unit": "m", "rows": 1, "columns": 2, "spacing": 0}, "spacing = 0: [^;]*$"),
    (
        {"design": "frame", "unit": "cm", "length": 9, "width": 90, "mesh": 10},
        "mesh 1 is not there, 9 by 90 cm hold 0 by 9 meshes of 10 cm: take",
    ),
]


@pytest.mark.parametrize(("fields", "complaint"), REFUSED, ids=[complaint[:40] for _, complaint in REFUSED])
def test_what_cannot_be_built_is_refused_by_name(fields: dict[str, Any], complaint: str) -> None:
    """The message names the parameter, its value and what to do."""
    with pytest.raises(DesignError, match=complaint):
        parse_design(fields)


def test_the_largest_structure_is_allowed_and_one_more_is_not() -> None:
    """5,000 positions are built, 5,001 refused."""
    fields = {"design": "line", "unit": "mm", "spacing": 1, "length": MOST_POSITIONS - 1}
    assert len(parse_design(fields).positions) == MOST_POSITIONS
    with pytest.raises(DesignError, match="5001 positions"):
        parse_design({**fields, "length": MOST_POSITIONS})


def test_an_unknown_place_is_named_with_those_that_exist() -> None:
    """Asking for level 6 of five, or hole 0, says what there is."""
    with pytest.raises(NothingSuch, match=r"tree has no position '6\.1\.1': its positions run from 1\.1\.1 to 5\.4\.5"):
        Tree().position("6.1.1")
    with pytest.raises(NothingSuch, match="tree has no page '0': its pages run from 1 to 5"):
        Tree().page("0")
    with pytest.raises(NothingSuch):
        Tree().plan("6")


def test_a_design_cannot_be_changed() -> None:
    """Addresses depend on the parameters, so a design is replaced, never edited."""
    assert isinstance(TABLE, Table)
    with pytest.raises(ValueError, match="frozen"):
        TABLE.rows = 5  # type: ignore[misc]
