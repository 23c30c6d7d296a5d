"""Designs of every kind, for the tests that hold for all of them."""

from decimal import Decimal

from hypothesis import strategies as st

from shared_schema.designs import (
    Design,
    parse_design,
)

__all__ = ["ANY_DESIGN", "ANY_TREE", "TABLE"]

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
