"""What pages remember is what they would work out anew, whatever arrived in between and for whichever survey."""

from collections.abc import Iterator, Sequence
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from server.pages.panorama import Panorama, draw_panorama
from server.review.coloured import Measure, look_over_nursery
from server.review.digests import list_stock
from server.review.discrepancies import list_discrepancies
from server.review.explaining import read_doubts
from server.review.flows import Column
from server.review.panoramas import Spread, spread_out
from server.review.questions import list_questions, read_open_questions
from server.review.remembering import Shelf, remembered
from server.review.search import search
from server.review.surveys import look_over_survey, sum_up_surveys
from server.store.engine import reading
from server.store.record import RecordStore
from shared_schema.entries import PersonListed
from tests.server.busy_crew import SURVEYS, Crew, Deed, deeds, hung_and_planted
from tests.server.conftest import Nursery
from tests.server.running import new_nursery
from tests.server.small_nursery import BEFORE, NOW, fill


@pytest.fixture(scope="module")
def shared(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Nursery]:
    """A database that the examples share: each has a nursery of its own in it."""
    with new_nursery(tmp_path_factory.mktemp("shared")) as made:
        yield made


def all_that_is_shown(store: RecordStore) -> list[Any]:
    """What the pages of all surveys are made from, in an order that says nothing of how it was found."""
    shown: list[Any] = [sum_up_surveys(store, 0, 9), list_discrepancies(store), search(store, "-1")]
    shown += [(list_questions(store, survey), read_open_questions(store, survey)) for survey in ("", *SURVEYS)]
    for survey in SURVEYS:
        overview = look_over_survey(store, survey, 0, 9)
        maps = [(one.map.hung, sorted(one.map.sightings, key=str), one.coverage) for one in overview.structures]
        shown += [overview.summary, overview.names, overview.progress, maps]
        spreads, _ = spread_out(store, survey, _drawn)[1]
        shown.append({one.structure: (one.location, one.design, _sorted(one.found)) for one in spreads})
        measures: tuple[Measure | None, ...] = (None, "genet", "age", "growth", "seen")
        for by in measures:
            places = look_over_nursery(store, survey, by, 0, 9).locations.values()
            found = [one for several in places for one in several]
            shown.append({one.map.hung: (sorted(one.map.sightings, key=str), one.values) for one in found})
        shown.append(read_doubts(store, survey, 0, 99))
        columns: tuple[Column, ...] = ("opening", "died", "missing", "closing")
        shown += [list_stock(store, survey, column, None, every=True) for column in columns]
    return shown


def _sorted(found: Any) -> dict[str, list[str]]:
    return {condition: sorted(paths.split()) for condition, paths in found.items()}


def _drawn(spreads: Sequence[Spread], before: tuple[Sequence[Spread], Panorama] | None) -> tuple[Sequence[Spread], Panorama]:
    """What is taken from an earlier picture is what would be drawn anew."""
    drawn = draw_panorama(spreads, None if before is None else before[1])
    assert drawn == draw_panorama(spreads)
    return spreads, drawn


@settings(max_examples=12)
@given(st.lists(deeds, min_size=1, max_size=10))
def test_what_is_remembered_is_what_would_be_worked_out_anew(shared: Nursery, done: list[Deed]) -> None:
    """Asked after each arrival, against a server that was just started."""
    store = hung_and_planted(shared)
    crew = Crew(store)
    all_that_is_shown(store)
    for deed in done:
        before = store.heads()
        crew.do(deed)
        if store.heads() == before:
            continue  # it made no sense by now: nothing arrived
        # What is remembered belongs to an engine. This one shares connections and compiled statements, and remembers nothing.
        just_started = RecordStore(store.engine.execution_options(), store.nursery)
        assert all_that_is_shown(store) == all_that_is_shown(just_started)


def test_an_arrival_for_a_later_survey_leaves_an_earlier_one_remembered(lite: Nursery) -> None:
    """And one for an earlier survey, or of a fragment outside any, does not."""
    _, store = lite
    boats = fill(store)
    made: list[int] = []

    def ask(survey: str, until: str | None) -> int:
        def make() -> int:
            made.append(1)
            return len(made)

        with reading(store.engine) as connection:
            return remembered(connection, store.nursery, Shelf("asked"), survey, make, until=until)

    first = ask(BEFORE, BEFORE), ask(NOW, NOW), ask("all", None)
    assert (ask(BEFORE, BEFORE), ask(NOW, NOW), ask("all", None)) == first == (1, 2, 3)
    boats.ana.saw("T1-090", "T1/5.2.5", "alive")
    boats.ana.back()
    assert (ask(BEFORE, BEFORE), ask(NOW, NOW), ask("all", None)) == (1, 4, 5)
    with store.office("ines") as office:
        office.write(PersonListed, "person:dora", name="Dora Crew")
    assert (ask(BEFORE, BEFORE), ask(NOW, NOW), ask("all", None)) == (1, 4, 6)
    boats.ana.saw("T1-091", "T1/5.3.1", "alive", survey=BEFORE)
    boats.ana.back()
    assert (ask(BEFORE, BEFORE), ask(NOW, NOW), ask("all", None)) == (7, 8, 9)


def test_only_so_much_is_remembered(lite: Nursery) -> None:
    """The one that nobody asked for longest is worked out again."""
    _, store = lite
    made: list[str] = []

    def ask(name: str) -> None:
        def make() -> None:
            made.append(name)

        with reading(store.engine) as connection:
            remembered(connection, store.nursery, Shelf("few", most=2), name, make)

    for name in ("a", "b", "a", "c", "a", "b"):
        ask(name)
    assert made == ["a", "b", "c", "b"]
