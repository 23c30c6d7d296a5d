"""The stock of a survey equals what the whole record gives, balances, and follows whatever arrives."""

from collections import Counter
from collections.abc import Iterator
from decimal import Decimal
from fractions import Fraction
from itertools import count
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from server.review.digests import list_stock, read_digest
from server.review.flows import COLUMNS, LOSSES, Column
from server.review.stock import state_of
from server.review.stock_book import Stock, stock_book
from server.store.engine import reading
from server.store.record import RecordStore
from shared_schema.author import Author
from shared_schema.designs import Line, design_fields
from shared_schema.entries import (
    ConditionSeen,
    FragmentMoved,
    FragmentOutplanted,
    FragmentPlanted,
    StructureHung,
    SurveyPlanned,
    write_entry,
)
from shared_schema.fold import Record, stand
from tests.server.blank import beside
from tests.server.conftest import Nursery
from tests.server.running import new_nursery, running
from tests.server.small_nursery import BEFORE, NOW, SITE_MORNING, fill
from tests.server.visitor import Visitor, texts

NUMBERS = count()
SURVEYS = ("2026-08", "2026-09", "2026-10")
EVERY: tuple[Column, ...] = (*COLUMNS, "moved")
FRAGMENTS = tuple(f"F{number}" for number in range(5))

words = st.tuples(
    st.sampled_from(["plant", "move", "see", "see", "outplant"]),
    st.sampled_from(FRAGMENTS),
    st.sampled_from(("", *SURVEYS)),
    st.sampled_from(["L1/1.1", "L1/1.2", "L2/1.1", "ground", "holding", "removed"]),
    st.sampled_from(["alive", "fading", "could_not_tell", "dead", "lost"]),
    st.sampled_from(["G1", "G2", None]),
    st.sampled_from(["F0", None]),
)


@pytest.fixture(scope="module")
def shared(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Nursery]:
    """A database that the examples share: each has a nursery of its own in it."""
    with new_nursery(tmp_path_factory.mktemp("shared")) as made:
        yield made


def fresh(shared: Nursery) -> RecordStore:
    """An empty nursery of an example's own, with its three surveys planned."""
    nursery = beside(shared[1], f"Stock {next(NUMBERS)}")
    with nursery.office("ines") as office:
        office.write(StructureHung, "structure:L1", design=design_fields(Line(unit="m", length=Decimal(2), spacing=Decimal(1))))
        for survey in SURVEYS:
            office.write(SurveyPlanned, f"survey:{survey}", name=survey, opens=f"{survey}-10", closes=f"{survey}-12")
    return nursery


def write(author: Author, word: tuple[Any, ...]) -> None:
    """One thing that somebody says, knowing what was said before in that survey."""
    what, fragment, survey, place, status, genet, parent = word
    subject = f"fragment:{fragment}"
    replaces = tuple(one.id for one in author.written if one.group == (survey, subject))
    if what == "plant":
        author.write(FragmentPlanted, subject, survey, place=place, genet=genet, parent=parent, replaces=replaces)
    elif what == "move":
        author.write(FragmentMoved, subject, survey, place=place, replaces=replaces)
    elif what == "outplant":
        author.write(FragmentOutplanted, subject, survey, place="site:reef", replaces=replaces)
    else:
        author.write(ConditionSeen, subject, survey, status=status, replaces=replaces)


def held_in(record: Record, until: str) -> Counter[str | None]:
    """genet -> how many that somebody planted were in the nursery by the end of a survey, worked out from all findings."""
    held: Counter[str | None] = Counter()
    for subject, standing in record.standings.items():
        then = stand(subject, [one for one in record.of_subject(subject) if one.survey <= until])
        place, status = then.facts.get("place"), then.facts.get("status")
        if place is not None:
            seen, looked = (status.value, status.survey) if status is not None else (None, "")
            held[standing.value("genet")] += state_of(place.value, place.survey, seen, looked) == "held"
    return held


def _ends(before: str, survey: str) -> Iterator[tuple[Column, str]]:
    yield "opening", before
    yield "closing", survey


def check(store: RecordStore, record: Record) -> dict[str, Stock]:
    """Every survey's opening and closing are what the record gives, and every line balances; gives the stocks."""
    with reading(store.engine) as connection, stock_book(store, connection) as book:
        stocks = {survey: book.stock_of(survey) for survey in SURVEYS}
    for survey, before in zip(SURVEYS, ("", *SURVEYS), strict=False):
        stock = stocks[survey]
        assert all(line.balances for line in (*stock.lines, stock.total)), (survey, stock)
        for column, when in _ends(before, survey):
            counted = Counter({line.genet: line.counts.get(column, 0) for line in stock.lines})
            assert +counted == +held_in(record, when), (survey, column)
    return stocks


@given(st.lists(words, max_size=14), st.integers(0, 14))
def test_the_stock_is_what_the_record_gives_however_it_arrived(shared: Nursery, said: list[tuple[Any, ...]], first: int) -> None:
    """In one go, or the book made after some of it and brought up to date by the rest; each figure has its fragments."""
    store = fresh(shared)
    author = Author("tabw", 0, "ana", lambda: SITE_MORNING)
    record = Record()
    for part in (said[:first], said[first:]):
        done = len(author.written)
        for word in part:
            write(author, word)
        store.receive([write_entry(entry) for entry in author.written[done:]], "tabw")
        record.add(author.written)
        check(store, record)
    for survey, stock in check(RecordStore(store.engine, store.nursery), record).items():
        for column in EVERY:
            found, total = list_stock(store, survey, column, None, every=True)
            assert len(found) == total == stock.total.counts.get(column, 0), (survey, column)
            assert found[1:3] == list_stock(store, survey, column, None, True, 1, 2)[0]
            for line in stock.lines:
                of_genet, total = list_stock(store, survey, column, line.genet, every=False)
                assert of_genet == [one for one in found if one[1] == line.genet]
                assert total == line.counts.get(column, 0)


def test_dead_and_missing_are_two_columns_and_survival_is_given_twice(lite: Nursery) -> None:
    """November of the small nursery: one found dead, several not found."""
    _, store = lite
    fill(store)
    total = read_digest(store, NOW).stock.total
    assert (total.counts["died"], total.counts["missing"]) == (1, 4)
    assert total.counts["opening"] == read_digest(store, BEFORE).stock.total.counts["closing"] == 159
    assert total.survival is not None
    low, high = total.survival
    assert (low, high) == (1 - Fraction(5, 159), 1 - Fraction(1, 155))
    assert {"died", "missing"} < {*LOSSES}


def test_the_digest_has_stock_conditions_coverage_questions_people_and_days_on_one_page(lite: Nursery) -> None:
    """And each figure of the stock leads to its fragments."""
    settings, store = lite
    fill(store)
    with running(settings) as (url, _):
        visitor = Visitor(url, store)
        page = visitor.see(f"/surveys/{NOW}/digest")
        read = texts(page)
        for said in (
            "Acropora cervicornis",
            "Opening and what came equal closing and what went.",
            "5 of 11 pages signed",
            "1 not reached",
            "3 structures",
            "3 open questions",
            "Ana Crew 4 pages",
            "observed on 14 Nov 2026",
        ):
            assert said in read, said
        listed = texts(visitor.see(f"/surveys/{NOW}/stock/missing"))
        assert "4 fragments" in listed
        assert "T1-001" in listed
        assert "159 fragments" in texts(visitor.see(f"/surveys/{NOW}/stock/opening?genet=G1"))
        assert "No fragment counts here" in visitor.see(f"/surveys/{NOW}/stock/outplanted")
        assert visitor.get("/surveys/2031-01/digest").status_code == 404
