"""What cannot be built, or is not there, is said by name."""

from typing import Any

import pytest

from shared_schema.designs import (
    MOST_POSITIONS,
    Table,
    Tree,
    parse_design,
)
from shared_schema.errors import DesignError, NothingSuch
from tests.shared_schema.designs import TABLE

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
