"""What pages count and list, read from tables a few rows at a time, equals what the whole record gives."""

from collections import Counter
from collections.abc import Iterator
from decimal import Decimal
from itertools import count
from typing import Any

import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from server.review.discrepancies import discrepancies_of, list_discrepancies
from server.review.maps import maps_in
from server.review.questions import list_questions
from server.review.structures import structures_in
from server.review.surveys import look_over_survey, sum_up_surveys
from server.store.engine import reading
from server.store.record import RecordStore
from shared_schema.author import Author
from shared_schema.designs import Design, Line, design_fields
from shared_schema.discrepancies import find_discrepancies, hanging
from shared_schema.entries import ConditionSeen, FragmentMoved, FragmentPlanted, GenetRegistered, StructureHung, write_entry
from shared_schema.fold import Record, Standing, stand
from shared_schema.ids import structure_of_place
from tests.server.blank import beside, tables_on
from tests.server.conftest import Nursery
from tests.server.running import new_nursery
from tests.server.small_nursery import SITE_MORNING

NUMBERS = count()
SURVEYS = ("", "2026-08", "2026-09", "2026-10")
STRUCTURES = ("L1", "L2")
LINE = Line(unit="m", length=Decimal(2), spacing=Decimal(1))
DESIGNS: dict[str, Design] = dict.fromkeys(STRUCTURES, LINE)
FRAGMENTS = tuple(f"F{number}" for number in range(5))

places = st.sampled_from(["L1/1.1", "L1/1.2", "L1/1.9", "L2/1.1", "L2/1.3", "L9/1.1", "ground", "site:reef"])
spots = st.sampled_from(["L1/1.1", "L1/1.2", "L2/1.1", "L2/1.3"])
words = st.tuples(
    st.sampled_from(["plant", "move", "see"]),
    st.sampled_from(FRAGMENTS),
    st.sampled_from(SURVEYS),
    places,
    st.none() | spots,
    st.sampled_from(["alive", "fading", "dead", "lost"]),
    st.sampled_from(["G1", "G2", None]),
    st.sampled_from([*FRAGMENTS, "F77", None]),
    st.sampled_from(["002M-0", "002m0", "oo2MO", "any", None]),
    st.booleans(),
)


@pytest.fixture(scope="module", params=["sqlite", pytest.param("postgresql", marks=pytest.mark.postgres)])
def shared(request: pytest.FixtureRequest, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Nursery]:
    """A database that the examples share: each has a nursery of its own in it, and must not see the others'."""
    folder = tmp_path_factory.mktemp("shared")
    if request.param == "sqlite":
        with new_nursery(folder) as made:
            yield made
    else:
        with tables_on(request) as url, new_nursery(folder, url) as made:
            yield made


def fresh(shared: Nursery) -> RecordStore:
    """An empty nursery of an example's own."""
    return beside(shared[1], f"Nursery {next(NUMBERS)}")


def write(authors: list[Author], word: tuple[Any, ...]) -> None:
    """One thing that somebody says; whether they knew of what was said before is drawn too."""
    what, fragment, survey, place, seen_at, status, genet, parent, tag, knew = word
    author = authors[len(authors[0].written) % 2]
    subject = f"fragment:{fragment}"
    before = [one.id for each in authors for one in each.written if one.group == (survey, subject)]
    replaces = tuple(before) if knew else ()
    if what == "plant":
        author.write(FragmentPlanted, subject, survey, place=place, genet=genet, parent=parent, tag=tag, replaces=replaces)
    elif what == "move":
        author.write(FragmentMoved, subject, survey, place=place, replaces=replaces)
    else:
        author.write(ConditionSeen, subject, survey, seen_at=seen_at, status=status, replaces=replaces)


def tell(store: RecordStore, said: list[tuple[Any, ...]]) -> Record:
    """Write a history into a store and into a record in memory."""
    authors = [Author(f"tabl{letter}a", 0, letter, lambda: SITE_MORNING) for letter in "xy"]
    office = Author("office", 0, "ines", lambda: SITE_MORNING)
    for structure in STRUCTURES:
        office.write(StructureHung, f"structure:{structure}", design=design_fields(LINE))
    office.write(GenetRegistered, "genet:G1", name="first")
    for word in said:
        write(authors, word)
    record = Record()
    for author in (office, *authors):
        record.add(author.written)
        store.receive([write_entry(entry) for entry in author.written], author.writer)
    return record


def as_of(record: Record, subject: str, survey: str) -> Standing:
    """What was known of a subject by the end of a survey."""
    return stand(subject, (one for one in record.of_subject(subject) if one.survey <= survey))


def expected_map(record: Record, survey: str, structure: str) -> Counter[tuple[str, str | None, int]]:
    """(address, status or None, open facts) of each fragment on a structure, worked out from all entries."""
    found: Counter[tuple[str, str | None, int]] = Counter()
    for subject in (f"fragment:{name}" for name in FRAGMENTS):
        finding = record.findings.get((survey, subject))
        status = finding.value("status") if finding else None
        questions = len(finding.open) if finding else 0
        known = as_of(record, subject, survey)
        if finding is not None and status is not None:
            place = finding.value("place") or finding.value("seen_at") or known.value("place")
            if place and structure_of_place(place) == structure:
                found[place, status, questions] += 1
        elif hanging(known).here and structure_of_place(known.value("place")) == structure:
            found[known.value("place"), None, questions] += 1
    return found


# Planted and lost before the first survey, found alive in a later one: it did not hang there in between.
ROSE = [
    ("plant", "F0", "", "L1/1.1", None, "alive", None, None, None, False),
    ("see", "F0", "", "L1/1.1", None, "lost", None, None, None, True),
    ("see", "F0", "2026-09", "L1/1.1", None, "alive", None, None, None, True),
]


@example(said=ROSE)
@given(said=st.lists(words, max_size=14))
def test_a_map_shows_what_the_survey_left_and_what_nobody_looked_at(shared: Nursery, said: list[tuple[Any, ...]]) -> None:
    """For surveys of the past too, after fragments were moved, lost and planted since."""
    store = fresh(shared)
    record = tell(store, said)
    for survey in SURVEYS[1:]:
        with reading(store.engine) as connection:
            hung = structures_in(connection, store.nursery, STRUCTURES)
            maps = maps_in(connection, store.nursery, survey, hung)
            for structure in STRUCTURES:
                shown = Counter((one.place, one.status, one.open) for one in maps[structure].sightings)
                assert shown == expected_map(record, survey, structure), (survey, structure)


@given(said=st.lists(words, max_size=14))
def test_discrepancies_are_those_of_the_whole_record(shared: Nursery, said: list[tuple[Any, ...]]) -> None:
    """Those of the nursery, and of each fragment alone."""
    store = fresh(shared)
    expected = find_discrepancies(tell(store, said), DESIGNS)
    assert list_discrepancies(store) == expected
    for name in FRAGMENTS:
        mine = [one for one in expected if f"fragment:{name}" in one.subjects]
        assert discrepancies_of(store, name) == mine


@given(said=st.lists(words, max_size=14))
def test_questions_are_those_that_the_fold_finds_open(shared: Nursery, said: list[tuple[Any, ...]]) -> None:
    """Every open fact of every finding is listed once, and a survey's summary counts the same."""
    store = fresh(shared)
    record = tell(store, said)
    counts = {}
    for survey in SURVEYS:
        listed = [(key.subject, key.fact) for key in list_questions(store, survey)]
        expected = [(f.subject, fact) for f in record.findings.values() if f.survey == survey for fact in f.open]
        assert sorted(listed) == sorted(expected)
        counts[survey] = len(expected)
    for summary in sum_up_surveys(store, 0, 20)[0]:
        assert summary.tally.questions == counts[summary.plan.survey]


@given(said=st.lists(words, max_size=14))
def test_a_survey_sums_up_what_its_structures_show(shared: Nursery, said: list[tuple[Any, ...]]) -> None:
    """What a summary calls not looked at is what the maps of its structures show as such."""
    store = fresh(shared)
    tell(store, said)
    for summary in sum_up_surveys(store, 0, 20)[0]:
        overview = look_over_survey(store, summary.plan.survey, 0, 100)
        assert overview.summary == summary
        tallies = [found.map.tally for found in overview.structures]
        assert sum(tally.unseen for tally in tallies) == summary.tally.unseen
