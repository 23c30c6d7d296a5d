"""How far a survey got: which pages somebody vouched for, works on, did not reach, or said nothing of, and who."""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import timedelta

import httpx
import pytest

from server.access.sessions import list_sessions
from server.pages.door import BY_ITSELF
from server.review.missing import Pages, look_over_progress
from server.review.progress import PAGE_STATES
from server.review.set_aside import count_set_aside, list_set_aside
from server.review.surveys import look_over_survey
from server.store.record import RecordStore
from shared_schema.entries import ConditionSeen, FragmentMoved, PageNotReached, PageSignedOff, StructureHung, SurveyPlanned
from shared_schema.errors import NothingSuch
from tests.server.conftest import Nursery
from tests.server.entering import later
from tests.server.odd_survey import bring_nonsense, make_unlikely, sign_off_too_soon
from tests.server.running import running
from tests.server.small_nursery import BEFORE, NOW, SmallNursery, fill, positions
from tests.server.visitor import Visitor, texts


@dataclass
class Survey:
    """The small nursery, and how far its survey got."""

    store: RecordStore
    boats: SmallNursery

    def states(self, survey: str = NOW) -> dict[str, str]:
        """page -> its state."""
        reach = look_over_progress(self.store, survey, Pages(whole=True), 0, 1000)
        return {page.page: page.state for one in reach.some for page in one.pages}

    def closer(self) -> dict[str, tuple[int, int, int, tuple[str, ...], tuple[str, ...]]]:
        """page -> seen, of these not told, not looked at, by whom, why not."""
        reach = look_over_progress(self.store, NOW, Pages(), 0, 1000)
        return {
            page.page: (page.seen, page.unsure, page.unseen, page.people, page.reasons)
            for one in reach.some
            for page in one.missing
        }


@pytest.fixture
def survey(nursery: Nursery) -> Survey:
    """On each database."""
    _, store = nursery
    return Survey(store, fill(store))


def test_a_coral_that_moved_since_counts_where_it_hung_when_it_was_seen(survey: Survey) -> None:
    """Of which the survey does not say where: what comes for a later survey changes no earlier one."""
    store, ana = survey.store, survey.boats.ana
    ana.author.write(ConditionSeen, "fragment:L1-005", BEFORE, status="alive")
    ana.back()

    def seen() -> tuple[set[str], dict[str, int]]:
        overview = look_over_survey(store, BEFORE, 0, 9)
        places = {one.place for found in overview.structures for one in found.map.sightings if one.subject == "fragment:L1-005"}
        pages = {page.page: page.seen for one in overview.progress.structures for page in one.pages}
        return places, pages

    before = seen()
    assert before[0] == {"L1/1.5"}
    for place in ("B1/1.4", "site:north-ledge"):
        ana.author.write(FragmentMoved, "fragment:L1-005", NOW, place=place)
        ana.back()
        assert seen() == before


def test_each_page_is_signed_in_work_not_reached_or_without_a_word(survey: Survey) -> None:
    """Four states; what was signed once stays signed whatever another says."""
    assert survey.states() == {
        **{f"T1/{page}": "signed" for page in "1234"},
        "T1/5": "not_reached",
        "L1/1": "signed",
        "L1/2": "in_work",
        **{f"B1/{page}": "silent" for page in "1234"},
    }
    assert set(survey.states(BEFORE).values()) == {"signed"}
    survey.boats.ben.author.write(PageNotReached, "structure:T1", NOW, reason="no air")
    survey.boats.ben.author.write(PageNotReached, "structure:B1", NOW, reason="no air")
    survey.boats.ben.saw("B1-001", "B1/1.1", "could_not_tell")
    survey.boats.ben.back()
    now = survey.states()
    assert [now[f"T1/{page}"] for page in "12345"] == ["signed"] * 4 + ["not_reached"]
    assert [now[f"B1/{page}"] for page in "1234"] == ["in_work", "not_reached", "not_reached", "not_reached"]
    assert survey.closer()["B1/1"] == (1, 1, 8, ("ben",), ("no air",))


def test_what_is_missing_says_by_whom_it_was_seen(survey: Survey) -> None:
    """And how much of it nobody looked at, and why."""
    assert survey.closer() == {
        "T1/5": (0, 0, 20, ("ben",), ("current too strong",)),
        "L1/2": (12, 0, 0, ("ben",), ()),
        **{f"B1/{page}": (0, 0, unseen, (), ()) for page, unseen in zip("1234", (9, 8, 9, 8), strict=True)},
    }
    survey.boats.ana.saw("L1-020", "L1/2.7", "alive")
    survey.boats.ana.back()
    assert survey.closer()["L1/2"][3] == ("ana", "ben")


def test_the_sums_add_up_and_grow_with_what_arrives(survey: Survey) -> None:
    """Every page is in one state, every structure whole, begun, refused or silent."""
    for fragment, place in positions("L1"):
        survey.boats.ben.saw(fragment, place, "alive")
    survey.boats.ben.author.write(PageSignedOff, "page:L1/2", NOW, alive=12, marked=0, unseen=0)
    before = look_over_progress(survey.store, NOW, Pages(), 0, 10)
    survey.boats.ben.back()
    after = look_over_progress(survey.store, NOW, Pages(), 0, 10)
    for progress in (before.progress, after.progress):
        assert sum(progress.pages(state) for state in PAGE_STATES) == progress.page_count == 11
    assert (before.progress.reached, before.progress.whole, before.progress.refused, before.total) == (2, 0, 0, 3)
    assert (after.progress.reached, after.progress.whole, after.progress.refused, after.total) == (2, 1, 0, 2)
    with pytest.raises(NothingSuch):
        look_over_progress(survey.store, "2031-01", Pages(), 0, 10)


@pytest.fixture
def troubled(nursery: Nursery, survey: Survey) -> Iterator[Visitor]:
    """Inés looks at a survey with unlikely entries, nonsense from a newer tablet, and a late arrival."""
    make_unlikely(survey.boats)
    bring_nonsense(survey.store)
    sign_off_too_soon(survey.store, survey.boats)
    with running(nursery[0]) as (url, _):
        yield Visitor(url, survey.store)


def test_a_survey_names_its_own_late_arrivals_and_entries_set_aside(troubled: Visitor, survey: Survey) -> None:
    """With links to them; what is set aside of another survey, or of none, is not its own."""
    read = texts(troubled.see(f"/surveys/{NOW}"))
    for said in ("4 unlikely entries", "1 entry came after the sign-off", "1 entry was set aside"):
        assert said in read
    assert "set aside" not in texts(troubled.see(f"/surveys/{BEFORE}")).split("Search", 1)[1]
    assert (count_set_aside(survey.store), count_set_aside(survey.store, NOW)) == (2, 1)
    assert [one.id for one in list_set_aside(survey.store, 0, 10, NOW)] == ["newer2-1"]
    aside = troubled.see(f"/set-aside?survey={NOW}")
    assert "newer2-1" in aside
    assert "newer2-2" not in aside


def test_a_sign_off_leads_to_the_entry_that_it_is(troubled: Visitor) -> None:
    """With the counts of what was open then."""
    page = troubled.see(f"/surveys/{NOW}/sign-off")
    entries = f"/surveys/{NOW}/entries/survey/{NOW}"
    assert f'href="{entries}"' in page
    assert "Two pages are left" in texts(troubled.see(entries))


def test_a_sign_off_says_all_that_it_leaves_open(troubled: Visitor) -> None:
    """Questions, unlikely entries, corals not looked at or not told, pages not signed: now, and in the entry then."""
    read = texts(troubled.see(f"/surveys/{NOW}/sign-off"))
    for said in ("3 open questions", "4 unlikely entries", "55 not looked at, of 159", "1 could not be told"):
        assert said in read
    assert "3 not signed off, of 11 pages" in read
    assert "3 pages not signed off, 4 unlikely entries without a word" in read
    assert "1 entry came after the sign-off" in read


def test_a_page_that_asks_by_itself_keeps_nobody_signed_in(lite: Nursery) -> None:
    """Three hours after the last click an open page brings itself up to date: the session is no younger for it; a click is."""
    settings, store = lite
    fill(store)
    with running(settings) as (url, app):
        ines = Visitor(url, store)
        app.state.store = later(store, timedelta(hours=3))
        (before,) = list_sessions(store, "ines")
        asked = httpx.get(f"{url}/surveys/{NOW}", cookies=ines.cookies, headers={BY_ITSELF: "yes"}, timeout=60)
        assert "103" in asked.text
        assert list_sessions(store, "ines") == [before]
        ines.see(f"/surveys/{NOW}")
        (after,) = list_sessions(store, "ines")
        assert after.seen_ms >= before.seen_ms + timedelta(hours=3) / timedelta(milliseconds=1)


def test_a_nursery_of_many_structures_is_counted_on_each_database(survey: Survey) -> None:
    """Where there are many, all pages of a survey are read at once: that gives the same states."""
    before = survey.states()
    with survey.store.office("ines") as office:
        for number in range(60):
            office.write(
                StructureHung, f"structure:M{number}", design={"design": "line", "unit": "m", "length": "2", "spacing": "1"}
            )
        office.write(
            SurveyPlanned,
            f"survey:{NOW}",
            name="All",
            opens=f"{NOW}-14",
            closes=f"{NOW}-14",
            structures=(),
            replaces=_heads(survey),
        )
    after = survey.states()
    assert {page: state for page, state in after.items() if not page.startswith("M")} == before
    assert {state for page, state in after.items() if page.startswith("M")} == {"silent"}


def _heads(survey: Survey) -> tuple[str, ...]:
    return tuple(sorted({head for slot in survey.store.finding("", f"survey:{NOW}").slots.values() for head in slot.heads}))
