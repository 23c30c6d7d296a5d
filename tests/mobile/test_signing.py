"""What signing a page off would say, and what about it is unlikely: pure functions that never stop anybody."""

from datetime import timedelta
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from mobile.chart import StructureChart, draw_chart
from mobile.recorder import Recorder
from mobile.signing import review_page, unlikely_mark, unlikely_page
from shared_schema.entries import ConditionSeen, FragmentPlanted, PageSignedOff, StructureHung, write_entry
from shared_schema.fold import Record
from tests.mobile.nursery import BEFORE, NOW, SURVEY, office_author, recorder, small_nursery, tablet

STATUSES = ("alive", "could_not_tell", "fading", "bleached", "preyed_on", "sick", "dead", "lost")
NAMES = [f"F-T01-{number}" for number in range(1, 13)]


def _chart(before: dict[str, str], now: dict[str, str]) -> StructureChart:
    """Tree T01 as two surveys found it."""
    record = Record()
    entries = small_nursery(("T01",), before)
    office = office_author(len(entries))
    for fragment, status in now.items():
        office.write(ConditionSeen, f"fragment:{fragment}", SURVEY, status=status)
    record.add([*entries, *office.written])
    return draw_chart("T01", {subject: tuple(record.of_subject(subject)) for subject in record.standings})


@given(
    st.dictionaries(st.sampled_from(NAMES[:6]), st.sampled_from(STATUSES)),
    st.dictionaries(st.sampled_from(NAMES[:6]), st.sampled_from(STATUSES)),
    st.sets(st.sampled_from(NAMES[:6])),
)
def test_the_counts_of_a_page_account_for_every_fragment(before: dict[str, str], now: dict[str, str], unseen: set[str]) -> None:
    """Alive, marked and unseen add up to all but those that were lost already and that nobody spoke of."""
    review = review_page(_chart(before, now), "T01/1", SURVEY, unseen)
    gone = {name for name, status in before.items() if status == "lost"} - now.keys() - unseen
    assert review.alive + review.marked + len(review.unseen) == 6 - len(gone)
    assert {row.hung.fragment for row in review.rows} == set(NAMES[:6]) - now.keys() - unseen - gone
    assert {hung.fragment for hung in review.unseen} == unseen - now.keys()
    assert all((row.status == "dead") == (before.get(row.hung.fragment) == "dead") for row in review.rows)


def test_lost_last_time_and_alive_now_asks_for_a_note() -> None:
    """It may be: corals turn up again. It may be the wrong place."""
    chart = _chart({"F-T01-1": "lost", "F-T01-2": "dead", "F-T01-3": "alive"}, {})
    author = office_author(writer="w3w3w3")
    expected = {"F-T01-1": ["lost_then_living"], "F-T01-2": ["dead_then_living"], "F-T01-3": []}
    for hung in chart.on_page("T01/1")[:3]:
        alive = author.write(ConditionSeen, f"fragment:{hung.fragment}", SURVEY, status="alive")
        assert [one.sort for one in unlikely_mark(alive, hung)] == expected[hung.fragment]
        lost = author.write(ConditionSeen, f"fragment:{hung.fragment}", SURVEY, status="lost")
        assert unlikely_mark(lost, hung) == ()


@pytest.mark.parametrize(("seconds", "said"), [(1, ["signed_in_seconds"]), (4.9, ["signed_in_seconds"]), (5, []), (90, [])])
def test_a_page_signed_within_five_seconds_asks_for_a_note(seconds: float, said: list[str]) -> None:
    """Nobody reads a page that fast."""
    found = unlikely_page(_chart({}, {}), "T01/1", SURVEY, NOW, NOW + timedelta(seconds=seconds))
    assert [one.sort for one in found] == said


@pytest.mark.parametrize(("then", "said"), [(9, []), (10, ["none_marked"]), (12, ["none_marked"])])
def test_none_marked_where_the_last_survey_had_ten_asks_for_a_note(tmp_path: Path, then: int, said: list[str]) -> None:
    """A bleached page does not heal in one night."""
    design = {"design": "tree", "unit": "in", "levels": 1, "arms": 4, "holes": ["7", "13", "19", "25", "31"]}
    office = office_author(writer="officezz")
    office.write(StructureHung, "structure:T09", design=design)
    for number in range(20):
        place = f"T09/1.{number // 5 + 1}.{number % 5 + 1}"
        office.write(FragmentPlanted, f"fragment:G-{number}", "2026-01", place=place)
        office.write(ConditionSeen, f"fragment:G-{number}", BEFORE, status="bleached" if number < then else "alive")
    with tablet(tmp_path / "t.sqlite") as store:
        store.take([write_entry(entry) for entry in office.written])
        assert unlikely_page(store.on_structure("T09"), "T09/1", "2026-08") == ()
        recorder(store).sign_off("T09/1")
        assert [one.sort for one in unlikely_page(store.on_structure("T09"), "T09/1", SURVEY)] == said
        recorder(store).mark("T09/1.1.1", status="bleached")
        assert unlikely_page(store.on_structure("T09"), "T09/1", SURVEY) == ()


@pytest.mark.parametrize(("seconds", "said"), [(3.9, 3), (240, 240), (-60, None), (10**7, None)])
def test_a_signature_says_how_long_the_page_was_looked_at(tmp_path: Path, seconds: float, said: int | None) -> None:
    """The office can tell haste by it; a clock that was set meanwhile says nothing."""
    with tablet(tmp_path / "t.sqlite") as store:
        made = Recorder(store, SURVEY, "ana", lambda: NOW)
        done = made.sign_off("T01/1", opened=NOW - timedelta(seconds=seconds)).entries[-1]
        assert isinstance(done, PageSignedOff)
        assert done.seconds == said
