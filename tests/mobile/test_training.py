"""Practice slates: each has an answer, each trap is told from a plain mistake, and none reaches the record."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from mobile.desk import UNSEEN
from mobile.palette import CONDITIONS
from mobile.slate_sheet import lay_out_slate
from mobile.training import SLATES, Miss, Slate, score_slate

ANSWERS = st.sampled_from([*CONDITIONS, UNSEEN])
BY_KEY = {slate.key: slate for slate in SLATES}


def answers(slate: Slate) -> dict[str, str]:
    """What is written on a slate."""
    return {path: slate.at(path).status for path in slate.places}


def misses(key: str, **entered: str) -> dict[str, Miss]:
    """What is told of mistakes at these places (`p1_2` is 1.2), all else being right."""
    slate = BY_KEY[key]
    wrong = {name.removeprefix("p").replace("_", "."): status for name, status in entered.items()}
    return {miss.path: miss for miss in score_slate(slate, answers(slate) | wrong, 1).misses}


def test_there_is_a_slate_for_each_sort_of_page() -> None:
    """A level, a stretch and a row, each of a single page and with every place either written about or bare."""
    assert {slate.page.kind for slate in SLATES} == {"level", "stretch", "row"}
    for slate in SLATES:
        assert len(slate.design.pages) == 1
        assert set(slate.marks) <= set(slate.places)
        assert {position.path for position in slate.page.positions} == set(slate.places) | slate.bare


def test_the_slates_have_every_trap() -> None:
    """Crossed out, smudged, the same again, a line that goes on, blank, can't tell, a bare place, and a tick after all."""
    marks = [mark for slate in SLATES for mark in slate.marks.values()]
    assert {mark.hand for mark in marks} == {"plain", "ditto", "line", "smudged"}
    assert {mark.status for mark in marks} == {*CONDITIONS, UNSEEN}
    assert any(mark.crossed and mark.status == "alive" for mark in marks)
    assert any(slate.bare for slate in SLATES)


@given(st.sampled_from(SLATES), st.data())
def test_every_place_is_right_or_missed_once(slate: Slate, data: st.DataObject) -> None:
    """Whatever was entered, right places and misses make up the slate, and each miss names what is written and what was not."""
    entered = {path: data.draw(ANSWERS) for path in slate.places}
    score = score_slate(slate, entered, 3)
    assert score.right + len(score.misses) == score.places == len(slate.places)
    assert score.right == sum(entered[path] == slate.at(path).status for path in slate.places)
    assert [miss.path for miss in score.misses] == [path for path in slate.places if entered[path] != slate.at(path).status]
    assert all(miss.wanted == slate.at(miss.path).status != miss.given == entered[miss.path] for miss in score.misses)


def test_each_trap_is_told_from_a_plain_mistake() -> None:
    """Why a place is wrong is what its mark asks for: nobody learns from a bare cross."""
    tree = misses(
        "tree", p1_1_2="alive", p1_1_1="sick", p1_2_3="bleached", p1_2_5="dead", p1_3_4="preyed_on", p1_4_5="alive", p1_2_1=UNSEEN
    )
    assert {path: miss.why for path, miss in tree.items()} == {
        "1.1.1": "ticked",
        "1.1.2": "written",
        "1.2.1": "looked",
        "1.2.3": "crossed",
        "1.2.5": "crossed",
        "1.3.4": "smudged",
        "1.4.5": "blank",
    }
    assert misses("tree", p1_2_3="alive")["1.2.3"].why == "written"
    assert misses("line", p1_5="alive", p1_8="sick")["1.5"].why == "ditto"
    assert misses("table", p1_9="alive")["1.9"].why == "line"


def test_vouching_for_a_whole_slate_unread_is_found_out() -> None:
    """Who signs an untouched page off has none of the marks right, and is told of the places where nobody looked."""
    for slate in SLATES:
        desk = slate.desk()
        desk.sign_off()
        found = {miss.path: miss.given for miss in score_slate(slate, desk.statuses, 1).misses}
        assert found == {path: "alive" for path in slate.places if slate.at(path).status != "alive"}
        assert any(slate.at(path).status == UNSEEN for path in found)


def test_the_margin_says_what_is_smudged() -> None:
    """Each smudged place is named in the margin as the slate calls it."""
    assert BY_KEY["tree"].margin == (("3.4", "fading"),)
    assert BY_KEY["line"].margin == ()
    assert BY_KEY["table"].margin == (("12", "bleached"),)


@pytest.mark.parametrize("slate", SLATES, ids=lambda slate: slate.key)
@given(width=st.floats(40, 120), height=st.floats(60, 120))
def test_boxes_keep_to_the_slate_and_apart(slate: Slate, width: float, height: float) -> None:
    """In whatever space, each place has a box of its own within it, in reading order."""
    sheet = lay_out_slate(slate, width, height, 4)
    assert [field.path for field in sheet.fields] == [position.path for position in slate.page.positions]
    for field in sheet.fields:
        assert field.x >= sheet.head - 1e-9
        assert field.x + sheet.width <= width + 1e-6
        assert field.y >= 4 - 1e-6
        assert field.y + sheet.height <= height - 4 + 1e-6
    corners = {(round(field.x, 6), round(field.y, 6)) for field in sheet.fields}
    assert len(corners) == len(sheet.fields)
    lines = [-round(field.y, 6) for field in sheet.fields]
    assert lines == sorted(lines)
