"""Designs: a structure's parameters say where every coral hangs, in what order it is read, and what hangs beside it."""

import json
import math
from decimal import Decimal
from fractions import Fraction
from typing import NoReturn

import pytest
from hypothesis import given

from shared_schema.designs import (
    Design,
    Position,
    Tree,
    design_fields,
    design_json,
    parse_design,
)
from shared_schema.ids import parse_address
from tests.shared_schema.designs import ANY_DESIGN, ANY_TREE


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
