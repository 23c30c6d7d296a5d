"""Every position of every structure is a target that a glove can hit."""

from itertools import combinations, pairwise

from hypothesis import given
from hypothesis import strategies as st

from mobile.board import BoardPicture, BoardSpot, Cell, Head, lay_out_board
from mobile.overview import Box, lay_out_overview
from mobile.ruler import GAP, LARGEST_POSITION, POSITION_LEAST, TARGET_LEAST
from shared_schema.designs import Design, Page, parse_design

TREES = st.builds(
    lambda arms, holes: parse_design({"design": "tree", "arms": arms, "holes": [7 + at for at in range(holes)]}),
    st.integers(1, 10),
    st.integers(1, 10),
)
TABLES = st.builds(
    lambda rows, columns, together: parse_design(
        {"design": "table", "unit": "cm", "rows": rows, "columns": columns, "spacing": 10, "rows_per_page": together}
    ),
    st.integers(1, 12),
    st.integers(1, 25),
    st.integers(1, 4),
)
LINES = st.builds(
    lambda count, together: parse_design(
        {"design": "line", "unit": "m", "length": count - 1 or 1, "spacing": 1, "per_stretch": together}
    ),
    st.integers(2, 80),
    st.integers(1, 100),
)
DESIGNS = st.one_of(TREES, TABLES, LINES)
WIDTHS, HEIGHTS = st.floats(60, 400), st.floats(30, 300)

Rectangle = tuple[float, float, float, float]


def rectangles(cells: tuple[Cell, ...], heads: tuple[Head, ...], size: float) -> list[Rectangle]:
    """x, y, width and height of every target."""
    return [(one.x, one.y, size, size) for one in cells] + [(one.x, one.y, one.width, one.height) for one in heads]


def gap(one: Rectangle, other: Rectangle) -> float:
    """The distance between two rectangles along the axis in which they are farther apart."""
    return max(max(one[axis], other[axis]) - min(one[axis] + one[axis + 2], other[axis] + other[axis + 2]) for axis in (0, 1))


@given(DESIGNS, WIDTHS, HEIGHTS)
def test_every_position_is_on_exactly_one_part_and_in_reading_order(design: Design, width: float, height: float) -> None:
    """Going through the parts of a page meets each of its positions once, as the slate lists them."""
    for page in design.pages:
        layout = lay_out_board(page, width, height)
        paths = [cell.path for part in layout.parts for cell in part.cells]
        assert paths == [position.path for position in page.positions]
        assert all(layout.part_of(cell.path) == index for index, part in enumerate(layout.parts) for cell in part.cells)


@given(DESIGNS, WIDTHS, HEIGHTS)
def test_targets_are_large_and_apart_and_on_the_board(design: Design, width: float, height: float) -> None:
    """Whatever the structure and the room: at least 15 mm across, 3 mm apart, nothing over the edge."""
    layout = lay_out_board(design.pages[0], width, height)
    assert POSITION_LEAST - 1e-6 <= layout.size <= LARGEST_POSITION
    for part in layout.parts:
        boxes = rectangles(part.cells, part.heads, layout.size)
        for x, y, wide, high in boxes:
            assert -1e-6 <= x <= x + wide <= width + 1e-6
            assert -1e-6 <= y <= y + high <= height + 1e-6
            assert min(wide, high) >= POSITION_LEAST - 1e-6
        assert all(gap(one, other) >= GAP - 1e-6 for one, other in combinations(boxes, 2))


@given(DESIGNS, WIDTHS, HEIGHTS)
def test_an_arm_has_one_head_beside_its_places(design: Design, width: float, height: float) -> None:
    """On each part, each arm that has places there has one head, to their left and as high as they reach."""
    page = design.pages[-1]
    groups = {group.number: {position.path for position in group.positions} for group in page.groups}
    layout = lay_out_board(page, width, height)
    for part in layout.parts:
        numbers = [head.number for head in part.heads]
        assert len(set(numbers)) == len(numbers)
        for head in part.heads:
            own = [cell for cell in part.cells if cell.path in groups[head.number]]
            assert own
            assert all(head.x + head.width < cell.x for cell in own)
            assert abs(head.y - min(cell.y for cell in own)) < 1e-6
            assert abs(head.y + head.height - max(cell.y + layout.size for cell in own)) < 1e-6


def test_a_level_of_the_common_tree_fits_a_ten_inch_tablet_at_full_size() -> None:
    """Four arms of five are on one part with targets of 18 mm or more, a line for each arm."""
    page: Page = parse_design({"design": "tree"}).pages[0]
    layout = lay_out_board(page, 130, 87)
    assert layout.size >= 18
    (part,) = layout.parts
    rows = [part.cells[start : start + 5] for start in range(0, 20, 5)]
    assert all(len({cell.y for cell in row}) == 1 for row in rows)
    assert all(above[0].y > below[0].y for above, below in pairwise(rows))


def test_what_nobody_described_is_an_empty_place() -> None:
    """A position without a spot shows as empty, never as alive."""
    page = parse_design({"design": "tree"}).pages[0]
    picture = BoardPicture(page, (BoardSpot("1.1.1", "sick"),))
    assert picture.at("1.1.1").status == "sick"
    assert picture.at("1.1.2").empty
    assert picture.at("1.1.2").status is None


@given(st.integers(1, 120), st.floats(33, 90), st.floats(55, 200), st.booleans(), st.data())
def test_every_page_can_be_reached_from_the_map(pages: int, width: float, height: float, wide: bool, data: st.DataObject) -> None:
    """The page that is open is among the targets shown, which are 15 mm or more, apart, and inside."""
    here = data.draw(st.integers(0, pages - 1))
    layout = lay_out_overview(pages, here, width, height, wide=wide)
    assert layout.first <= here < layout.first + len(layout.targets)
    assert (layout.earlier is None) == (len(layout.targets) == pages)
    turning = [box for box in (layout.earlier, layout.later) if box is not None]
    boxes = [*layout.targets, *turning]
    for box in boxes:
        assert min(box.width, box.height) >= TARGET_LEAST - 1e-6
        assert -1e-6 <= box.x <= box.x + box.width <= width + 1e-6
        assert -1e-6 <= box.y <= box.y + box.height <= height + 1e-6
    assert all(gap(as_rectangle(one), as_rectangle(other)) >= GAP - 1e-6 for one, other in combinations([*boxes, layout.map], 2))


def as_rectangle(box: Box) -> Rectangle:
    """A box as x, y, width, height."""
    return box.x, box.y, box.width, box.height
