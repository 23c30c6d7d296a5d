"""Drawings show every position once, where a reader can tell it from the next, with signs that do not rest on colour."""

import re
from decimal import Decimal
from itertools import combinations
from math import hypot
from typing import get_args

import pytest
from hypothesis import given
from hypothesis import strategies as st

from server.pages.conditions import LOOKS, UNSEEN, Look
from server.pages.drawings import MARK, grounds_of, side_of
from server.pages.figures import clock_words
from server.pages.mounting import STATIC
from server.pages.portraits import portray
from server.pages.values import asking_for, fact_words, value_from_form, value_words
from server.pages.words import FACT_WORDS, KIND_WORDS
from server.review.maps import Sighting, StructureMap
from server.review.structures import Hung, natural
from shared_schema.designs import Block, Design, Frame, Line, Table, Tree
from shared_schema.entries import KINDS
from shared_schema.facts import FACTS

trees = st.builds(
    Tree,
    levels=st.integers(1, 5),
    arms=st.integers(1, 6),
    holes=st.integers(1, 6).map(lambda n: tuple(Decimal(8 + 4 * each) for each in range(n))),
    turn=st.sampled_from([Decimal(0), Decimal(45), Decimal("22.5")]),
)
lines = st.builds(
    Line,
    unit=st.just("m"),
    length=st.integers(0, 40).map(lambda n: Decimal(n + 1)),
    spacing=st.just(Decimal(1)),
    per_stretch=st.integers(1, 30),
    rope=st.sampled_from(["horizontal", "vertical"]),
)
tables = st.builds(
    Table,
    unit=st.just("cm"),
    rows=st.integers(1, 8),
    columns=st.integers(1, 30),
    spacing=st.just(Decimal(20)),
    columns_per_page=st.integers(5, 12),
)
frames = st.builds(
    Frame,
    unit=st.just("cm"),
    length=st.integers(10, 60).map(Decimal),
    width=st.integers(10, 60).map(Decimal),
    mesh=st.just(Decimal(10)),
    hangs=st.sampled_from(["horizontal", "vertical"]),
)
blocks = st.builds(
    Block,
    unit=st.just("cm"),
    rows=st.integers(1, 4),
    columns=st.integers(1, 6),
    spacing=st.just(Decimal(10)),
    height=st.just(Decimal(40)),
)
designs = st.one_of(trees, lines, tables, frames, blocks)


@given(designs, st.booleans())
def test_every_position_is_drawn_once(design: Design, by_page: bool) -> None:
    """Whatever the design, the drawings together hold each position and nothing else, inside their edges."""
    grounds = grounds_of(design, by_page)
    drawn = [path for ground in grounds for path in ground.spots]
    assert sorted(drawn) == sorted(position.path for position in design.positions)
    for ground in grounds:
        for x, y in ground.spots.values():
            assert MARK / 2 <= x <= ground.width - MARK / 2
            assert MARK / 2 <= y <= ground.height - MARK / 2


@given(designs)
def test_no_two_marks_of_a_drawing_cover_each_other(design: Design) -> None:
    """Marks keep apart, so that each letter can be read."""
    for ground in grounds_of(design):
        for (x, y), (other_x, other_y) in combinations(ground.spots.values(), 2):
            assert hypot(x - other_x, y - other_y) > MARK * 0.8


def test_levels_of_a_tree_are_turned_against_each_other() -> None:
    """The first arm of level 1 points to the mark, that of level 2 stands 45 degrees from it."""
    first, second = grounds_of(Tree())[:2]
    assert first.hub is not None
    assert second.hub is not None
    x, y = first.spots["1.1.5"]
    assert x == pytest.approx(first.hub[0], abs=0.2)
    assert y < first.hub[1]
    x, y = second.spots["2.1.5"]
    assert x - second.hub[0] == pytest.approx(second.hub[1] - y, abs=0.2)
    assert x > second.hub[0]


def test_the_side_view_fits_its_box() -> None:
    """A tall tree and a wide one are drawn whole."""
    for design in (Tree(), Tree(levels=1)):
        side = side_of(design, 300.0, 320.0)
        assert all(0 <= x <= 300 and 0 <= y <= 320 for x, y in side.spots.values())


@given(designs, st.data())
def test_a_small_drawing_has_a_mark_for_each_position(design: Design, data: st.DataObject) -> None:
    """What was found, what was not looked at and what is empty: together all positions; questions are ringed."""
    paths = [position.path for position in design.positions]
    chosen = data.draw(st.lists(st.sampled_from(paths), unique=True, max_size=30))
    states = st.tuples(st.sampled_from([*(look.key for look in LOOKS), None]), st.integers(0, 1))
    seen = [Sighting(f"fragment:F{index}", f"S1/{path}", *data.draw(states)) for index, path in enumerate(chosen)]
    drawn = portray(StructureMap(Hung("S1", design=design), seen))
    assert drawn is not None
    marks = sum(layer.path.count("M") for layer in drawn.layers)
    assert (marks, drawn.empty.count("M")) == (len(chosen), len(paths) - len(chosen))
    assert drawn.rings.count("M") == sum(one.open for one in seen)


def luminance(colour: str) -> float:
    """Relative luminance of #RRGGBB, WCAG 2.2."""
    parts = (int(colour[at : at + 2], 16) / 255 for at in (1, 3, 5))
    red, green, blue = (part / 12.92 if part <= 0.04045 else ((part + 0.055) / 1.055) ** 2.4 for part in parts)
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue


def contrast(one: str, other: str) -> float:
    """Contrast of two colours, WCAG 2.2: from 1 to 21."""
    light, dark = sorted((luminance(one), luminance(other)), reverse=True)
    return (light + 0.05) / (dark + 0.05)


@pytest.mark.parametrize("look", LOOKS, ids=lambda look: look.key)
def test_a_letter_can_be_read_on_its_fill(look: Look) -> None:
    """At least 7:1."""
    assert contrast(look.fill, look.ink) >= 7


def test_signs_differ_in_letter_and_shape_and_not_only_in_colour() -> None:
    """Each letter is there once, and each shape; only the dashed ring has the shape of another, with dashes for a fill."""
    looks = [*LOOKS, UNSEEN]
    assert len({look.letter for look in looks}) == len(looks)
    assert len({look.path for look in LOOKS}) == len(LOOKS)
    assert UNSEEN.dashed


def test_text_and_ground_keep_seven_to_one() -> None:
    """Every pair of colours that text is set in, from the style sheet."""
    css = (STATIC / "office.css").read_text().partition("}\n\n*")[0]
    colours = dict(re.findall(r"--(\w+): (#[0-9a-f]{6})", css))
    for text in ("ink", "soft", "deep", "alarm"):
        for ground in ("paper", "mist", "warm"):
            assert contrast(colours[text], colours[ground]) >= 7, (text, ground)
    assert contrast("#ffffff", colours["deep"]) >= 7
    for edge in ("paper", "mist"):
        assert contrast(colours["edge"], colours[edge]) >= 3, "edges of fields: WCAG 1.4.11"


def test_every_fact_and_kind_has_a_word() -> None:
    """Nothing is shown under its program name."""
    assert set(FACTS) <= set(FACT_WORDS)
    assert set(KINDS) == set(KIND_WORDS)
    assert fact_words("live_tissue") == "Live tissue"


@pytest.mark.parametrize(
    "fact", [name for name, fact in FACTS.items() if fact.mode == "register" and asking_for(name).form == "one"]
)
def test_a_form_offers_every_value_of_a_fact_and_no_other(fact: str) -> None:
    """What can be chosen is what the fact admits."""
    offered = [value for value, _ in asking_for(fact).choices]
    for value in offered:
        assert FACTS[fact].check(value_from_form(fact, [value])) == value
        assert value_words(fact, value)
    assert set(offered) == set(get_args(FACTS[fact].kind_of_value))


@pytest.mark.parametrize(
    ("off", "said"),
    [
        (0, "clock right to the second"),
        (1, "clock 1 second fast"),
        (-90, "clock 90 seconds slow"),
        (-412, "clock 7 minutes slow"),
        (90000, "clock 25 hours fast"),
    ],
)
def test_a_clock_that_is_off_is_said_in_words(off: int, said: str) -> None:
    """In the largest unit that still says how much."""
    assert clock_words(off) == said


def test_names_are_listed_as_people_list_them() -> None:
    """T2 comes before T10, and level 2 before level 10."""
    assert sorted(["T10", "T2/10.1", "T2/2.1", "L1"], key=natural) == ["L1", "T2/2.1", "T2/10.1", "T10"]
