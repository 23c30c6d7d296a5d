"""Designs as somebody types them into a cell."""

from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from server.registry.design_words import COUNTS, EXAMPLES, read_design
from server.registry.problems import CellError
from shared_schema.designs import Block, Frame, Line, Table, Tree, design_json


@pytest.mark.parametrize("words", EXAMPLES)
def test_every_example_makes_a_structure(words: str) -> None:
    """What the error message offers is understood, in large letters too."""
    assert read_design(words) == read_design(words.upper()) == read_design(f" {words} ".replace(",", " "))


def test_words_say_the_same_as_parameters() -> None:
    """The usual structures have the positions that their words count."""
    assert read_design("tree") == Tree()
    assert read_design("tree, 6 levels of 4 arms").count == 120
    assert read_design("line, 20 places every 150 mm").count == 20
    assert read_design("line, 1 place every 6 in").count == 1
    assert read_design("line, 20 m every 50 cm").count == 41
    assert read_design("table, 5 rows of 8 every 20 cm").count == 40
    assert read_design("frame, 6 m by 6 m, mesh 55 mm, every 4").count == 28 * 28
    assert read_design("block, 3 rows of 4 every 15 cm, height 40 cm").count == 12


@given(count=st.integers(1, 70), tenths=st.integers(1, 5_000), unit=st.sampled_from(["mm", "cm", "in"]))
def test_a_line_has_as_many_places_as_its_words_say(count: int, tenths: int, unit: str) -> None:
    """Exactly, whatever the spacing and its unit: nothing is rounded on the way to millimetres."""
    assert read_design(f"line {count} every {Decimal(tenths) / 10} {unit}").count == count


@given(st.sampled_from([Tree(), read_design("line, 8 m every 40 cm, upright"), read_design(EXAMPLES[5]), read_design(EXAMPLES[6])]))
def test_any_design_can_be_given_by_its_parameters(design: Tree | Line | Table | Frame | Block) -> None:
    """The parameters in braces, as the record writes them, make the same design."""
    assert read_design(design_json(design)) == design


def test_parameters_keep_their_digits() -> None:
    """0.1 stays 0.1, and counts are counts."""
    line = read_design("{design: line, unit: m, length: 20, spacing: 0.1, per_stretch: 10}")
    assert isinstance(line, Line)
    assert (line.spacing, line.per_stretch) == (Decimal("0.1"), 10)


def test_counts_are_those_of_the_designs() -> None:
    """Every whole number among the parameters is read as one, and nothing else is."""
    fields = {
        (name, field.annotation is int) for kind in (Tree, Line, Table, Frame, Block) for name, field in kind.model_fields.items()
    }
    assert {name for name, whole in fields if whole} == COUNTS
    assert not {name for name, whole in fields if not whole} & COUNTS


@pytest.mark.parametrize(
    ("text", "word"),
    [
        ("line 20 every 150", "line, 20 places every 150 mm"),
        ("line, 0,5 m every 10 cm", "point"),
        ("line, 0 places every 10 cm", "no design"),
        ("line, 5 places every 0 cm", "spacing"),
        ("tree, 7 levels", "trunk_length"),
        ("hedge", "tree"),
        ("{design: line", "braces"),
        ("{}", "design"),
        ("{design: hedge}", "design"),
        ("table, 900 rows of 90 every 1 cm", "positions"),
    ],
)
def test_a_design_that_makes_nothing_says_what_to_write(text: str, word: str) -> None:
    """The reason names the parameter, or the words that can be used."""
    with pytest.raises(CellError, match=word):
        read_design(text)
