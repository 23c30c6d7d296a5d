"""Maps by genet, age, growth and days since seen, and the surveys before, on a server of their own."""

import re
from collections.abc import Iterator
from datetime import date, datetime, timedelta
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from server.pages.swatches import key_of
from server.review.coloured import Measured
from server.review.growth import Size, growth_of
from server.store.record import RecordStore
from shared_schema.entries import FragmentMoved, SizeMeasured
from tests.server.conftest import Nursery
from tests.server.running import running
from tests.server.small_nursery import BEFORE, NOW, SITE_MORNING, fill
from tests.server.visitor import Visitor, texts

Office = tuple[RecordStore, Visitor]
DAY = datetime(2026, 10, 12, 9, tzinfo=SITE_MORNING.tzinfo)


@pytest.fixture
def office(nursery: Nursery) -> Iterator[Office]:
    """The small nursery with two sizes of one coral, and one that moved since October."""
    settings, store = nursery
    boats = fill(store)
    boats.ana.author.write(SizeMeasured, "fragment:T1-020", BEFORE, tle_mm=100, observed=DAY)
    boats.ana.author.write(SizeMeasured, "fragment:T1-020", NOW, tle_mm=110, observed=DAY + timedelta(days=33))
    boats.ana.author.write(SizeMeasured, "fragment:T1-021", NOW, tle_mm=110)
    before = next(one.id for one in boats.ana.author.written if one.subject == "fragment:T1-081" and one.survey == BEFORE)
    boats.ana.saw("T1-081", "T1/5.1.1", "alive", survey=BEFORE, observed=DAY, replaces=(before,))
    boats.ana.author.write(FragmentMoved, "fragment:L1-005", NOW, place="B1/1.4")
    boats.ana.back()
    with running(settings) as (url, _):
        yield store, Visitor(url, store)


def row(page: str, path: str) -> str:
    """A row of the table under a map."""
    found = re.search(rf'<tr id="p-{re.escape(path)}".*?</tr>', page, re.DOTALL)
    assert found is not None, path
    return texts(found[0])


def test_growth_is_last_minus_first_by_time_with_n_and_what_is_not_measured_says_so(office: Office) -> None:
    """10 mm in 33 days is 110.7 mm a year; one size is no growth."""
    page = office[1].see(f"/surveys/{NOW}/structures/T1?by=growth")
    assert "+110.7 mm a year by total linear extension, n = 2" in row(page, "1.4.5")
    assert "not measured on two days" in row(page, "2.1.1")
    assert "not measured on two days" in row(office[1].see(f"/surveys/{BEFORE}/structures/T1?by=growth"), "1.4.5")


def test_days_since_seen_count_from_the_last_look_to_the_last_day_of_the_survey(office: Office) -> None:
    """Level 5 was not reached in November: last seen 33 days before."""
    page = office[1].see(f"/surveys/{NOW}/structures/T1?by=seen")
    assert "0 days, 14 Nov 2026" in row(page, "1.1.2")
    assert "33 days, 12 Oct 2026" in row(page, "5.1.1")


def test_every_measure_draws_every_coral_with_a_letter_and_lists_it(office: Office) -> None:
    """On all three sorts of structure, each coral of the table is on the drawing too."""
    for structure, corals in (("T1", 100), ("L1", 24), ("B1", 35)):
        for by in ("genet", "age", "growth", "seen"):
            page = office[1].see(f"/surveys/{NOW}/structures/{structure}?by={by}")
            drawn, table = page.split('id="table"')
            assert len(re.findall(r'tabindex="-1" aria-label', drawn)) == corals, (structure, by)
            assert table.count('<tr id="p-') == corals, (structure, by)


def test_the_slider_leads_to_the_same_map_in_each_survey_without_scripts(office: Office) -> None:
    """Links to the other surveys keep what the map is coloured by, and show a coral where it hung then."""
    page = office[1].see(f"/surveys/{NOW}/structures/L1?by=age")
    assert f'href="/surveys/{BEFORE}/structures/L1?by=age"' in page
    assert "L1-005" not in page
    assert "L1-005" in office[1].see(f"/surveys/{BEFORE}/structures/L1?by=age")
    assert "L1-005" in office[1].see(f"/surveys/{NOW}/structures/B1")


def test_the_nursery_map_counts_each_structure_by_each_measure(office: Office) -> None:
    """Tiles at their location, and the same as a table."""
    for by in ("", "?by=genet", "?by=age", "?by=growth", "?by=seen"):
        read = texts(office[1].see(f"/surveys/{NOW}/map{by}"))
        assert "made up 3 structures" in read
        assert "The same as a table" in read
    assert "median +111 mm a year, n = 1" in texts(office[1].see(f"/surveys/{NOW}/map?by=growth"))


def test_the_picture_of_every_position_has_one_path_for_each_condition(office: Office) -> None:
    """However many corals there are; the table beneath counts them."""
    page = office[1].see(f"/surveys/{NOW}/positions")
    panorama = page.split('class="panorama"')[1].split("</figure>")[0]
    assert panorama.count('class="dots"') == 1
    assert panorama.count("<path") == page.split('class="legend"')[1].split("</ul>")[0].count('<span class="condition">')
    assert "159 corals, 3 structures" in texts(page)


def test_a_measure_that_there_is_none_of_is_refused(office: Office) -> None:
    """A mistyped address gives a page that says so."""
    answer = office[1].get(f"/surveys/{NOW}/structures/T1?by=mood")
    assert answer.status_code == 400
    assert "A part of the address or of the form cannot be right." in texts(answer.text)


sizes = st.lists(st.builds(Size, st.dates(date(2020, 1, 1), date(2030, 1, 1)), st.integers(0, 3000)), max_size=6)


@given(sizes, sizes)
def test_growth_takes_the_first_and_the_last_day_whatever_the_order(tle: list[Size], length: list[Size]) -> None:
    """By total linear extension where that has two days, else by length, else there is none."""
    growth = growth_of(tle, length)
    assert growth == growth_of(tle[::-1], length[::-1])
    ready = [several for several in (tle, length) if len({size.day for size in several}) > 1]
    if not ready:
        assert growth is None
    else:
        assert growth is not None
        assert (growth.first.day, growth.last.day) == (min(ready[0]).day, max(ready[0]).day)
        assert growth.n == len(ready[0])


@given(st.integers(-2000, 5000), st.sampled_from(["age", "growth", "seen"]))
def test_every_number_has_one_class_and_classes_follow_numbers(number: int, by: str) -> None:
    """A larger number is never in a lower class, and no number is taken for one that was not measured."""
    key = key_of(by, [])  # type: ignore[arg-type]  # one of them
    classes = [key.swatches.index(key.of(Measured(Decimal(each)))) for each in (number, number + 1)]
    assert classes == sorted(classes)
    assert classes[-1] < len(key.swatches) - 1
