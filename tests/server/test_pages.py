"""The office pages tell a supervisor what a survey found, on a server of their own."""

import re
from collections.abc import Iterator
from dataclasses import dataclass

import pytest

from server.store.record import RecordStore
from shared_schema.entries import StructureHung, SurveyPlanned
from tests.server.conftest import Nursery
from tests.server.running import running
from tests.server.small_nursery import BEFORE, NOW, SmallNursery, fill
from tests.server.visitor import Visitor, texts


@dataclass
class Office:
    """The small nursery with its pages open."""

    store: RecordStore
    boats: SmallNursery
    visitor: Visitor


@pytest.fixture
def office(nursery: Nursery) -> Iterator[Office]:
    """The small nursery, on each database, seen by Inés."""
    settings, store = nursery
    boats = fill(store)
    with running(settings) as (url, _):
        yield Office(store, boats, Visitor(url, store))


def test_the_first_page_lists_surveys_newest_first_with_what_each_found(office: Office) -> None:
    """A supervisor sees when, how much was looked at, the counts by condition and the open questions."""
    page = office.visitor.see("/")
    read = texts(page)
    assert page.index("Survey of 2026-11") < page.index("Survey of 2026-10")
    assert "looked at 103 of 159" in read
    assert "3 open questions" in read
    assert "no open question" in read
    assert "not reached 1" in read


def test_a_survey_shows_each_structure_with_its_counts(office: Office) -> None:
    """Each structure is drawn, with how many were looked at and how many pages were signed."""
    page = office.visitor.see(f"/surveys/{NOW}")
    read = texts(page)
    for said in ("78 of 100 looked at", "4 of 5 pages signed, 1 not reached", "25 of 25 looked at", "0 of 34 looked at"):
        assert said in read
    assert page.count('class="portrait"') == 3


def test_a_tree_is_drawn_level_by_level_with_every_position(office: Office) -> None:
    """All hundred positions carry a letter on the map, and stand in the table beneath."""
    page = office.visitor.see(f"/surveys/{NOW}/structures/T1")
    drawn, table = page.split('id="table"')
    assert [drawn.count(f"<b>Level {level}</b>") for level in range(1, 6)] == [1] * 5
    assert len(re.findall(r'<a href="[^"]*" tabindex="-1"', drawn)) == 100
    assert len(re.findall(r'<tr id="p-', table)) == 100
    assert "Ben Crew" in drawn
    assert "current too strong" in drawn


def test_not_looked_at_is_never_shown_as_alive(office: Office) -> None:
    """Nobody was at level 5 of the tree: all its positions are question marks."""
    page = office.visitor.see(f"/surveys/{NOW}/structures/T1")
    level = page.split("<b>Level 5</b>")[1].split("</figure>")[0]
    assert level.count("#c-unseen") == 20
    assert "#c-alive" not in level


def test_what_is_in_question_is_ringed_and_marked(office: Office) -> None:
    """Three positions of level 1 are in question: each has a ring and the unequal sign."""
    page = office.visitor.see(f"/surveys/{NOW}/structures/T1")
    level = page.split("<b>Level 1</b>")[1].split("</figure>")[0]
    assert level.count('class="ring"') == 3
    assert level.count("#c-open") == 3


def test_a_line_and_a_table_are_drawn_as_what_they_are(office: Office) -> None:
    """A line comes stretch by stretch, a table as one piece with its empty places."""
    line = office.visitor.see(f"/surveys/{NOW}/structures/L1").split('id="table"')[0]
    table = office.visitor.see(f"/surveys/{BEFORE}/structures/B1").split('id="table"')[0]
    assert line.count('class="ground"') == 2
    assert table.count('class="ground"') == 1
    assert table.count("#c-alive") + table.count("#c-fading") >= 34
    assert table.split("</svg>")[-2].count("<title>") in (0, 34)
    assert len(re.findall(r'<circle class="vacant"[^>]*r="3"', table)) == 6


def test_statements_stand_side_by_side_with_all_that_helps_to_judge(office: Office) -> None:
    """Who saw, who typed, which tablet and its clock, the times, what else was seen, notes, and the survey before."""
    read = texts(office.visitor.see(f"/surveys/{NOW}/questions"))
    for said in (
        "by signing the page off on tablet Orange",
        "tapped on tablet Grey",
        "clock 7 minutes slow",
        "clock 3 seconds fast",
        "site time UTC−4",
        "observed 14 Nov 2026, 09:40",
        "received 14 Nov 2026, 13:05",
        "Live tissue: 60 %",
        "Signs of disease: band",
        "white band near the tie",
        "Before alive 2026-10",
        "T1/1.2.1",
    ):
        assert said in read, said


def test_questions_of_one_structure_leave_the_others_out(office: Office) -> None:
    """The line has no question, and its page says what to do next."""
    assert office.visitor.see(f"/surveys/{NOW}/structures/T1/questions").count("data-question") == 3
    assert "No open question" in office.visitor.see(f"/surveys/{NOW}/structures/L1/questions")


def test_a_fragment_shows_its_history_its_descent_and_the_entries_behind(office: Office) -> None:
    """Two surveys and the planting, its parents up to the founder, and each entry as it was written."""
    page = office.visitor.see("/fragments/T1-003")
    read = texts(page)
    assert "2 cuts away from its founder" in read
    assert page.index("/fragments/T1-001") < page.index("/fragments/T1-002")
    assert page.count('class="chapter"') == 3
    assert "&#34;kind&#34;:&#34;condition_seen&#34;" in page
    assert "/fragments/T1-003" in office.visitor.see("/fragments/T1-002")


def test_names_from_the_record_are_text_and_never_markup(office: Office) -> None:
    """Whatever somebody typed, a page shows it and does not run it."""
    bad = '<img src=x onerror="alert(1)">'
    with office.store.office("ines") as writer:
        writer.write(SurveyPlanned, "survey:2026-12", name=bad, opens="2026-12-01", closes="2026-12-02")
    page = office.visitor.see("/")
    assert "<img" not in page
    assert "&lt;img src=x" in page


def test_an_entry_that_was_set_aside_is_shown_with_its_reason(office: Office) -> None:
    """A newer tablet brought an unknown kind: it is in sight, as it came."""
    boat = office.boats.ana.author
    line = f'{{"id":"{boat.writer}-{boat.last + 1}","kind":"sonar_swept","v":1,"subject":"structure:T1"}}'
    office.store.receive([line.encode()], boat.writer)
    page = office.visitor.see("/set-aside")
    assert "sonar_swept" in page
    assert "update the server" in page
    assert "1 entry was set aside" in texts(office.visitor.see("/"))


def test_what_does_not_add_up_is_listed(office: Office) -> None:
    """A fragment seen somewhere else than it hangs is a discrepancy, on its own page too."""
    office.boats.ben.saw("T1-090", "L1/1.1", "alive")
    office.boats.ben.back()
    assert "T1-090 hangs at T1/5.2.5 and was seen at L1/1.1" in texts(office.visitor.see("/discrepancies"))
    assert "was seen at L1/1.1" in texts(office.visitor.see("/fragments/T1-090"))


def test_a_structure_that_cannot_be_drawn_still_has_its_table(office: Office) -> None:
    """Fragments seen on a structure that nobody hung are not lost from sight."""
    office.boats.ben.saw("X-1", "X9/1.1", "alive")
    office.boats.ben.back()
    assert "X-1" in office.visitor.see(f"/surveys/{NOW}/structures/X9")
    assert "X9" in office.visitor.see(f"/surveys/{NOW}")


def test_what_is_not_in_the_record_is_a_page_that_says_so(office: Office) -> None:
    """A mistyped address gives a page to go on from, and status 404."""
    for path in ("/surveys/2031-01", f"/surveys/{NOW}/structures/Q1", "/fragments/none", "/rulings/office0-99999", "/what"):
        answer = office.visitor.get(path)
        assert (answer.status_code, answer.headers["content-type"]) == (404, "text/html; charset=utf-8"), path
        assert "To the surveys" in answer.text


def test_a_new_nursery_says_what_to_do_next(lite: Nursery) -> None:
    """Without any entry each page names the next step."""
    settings, store = lite
    with running(settings) as (url, _):
        visitor = Visitor(url, store)
        assert "No survey yet" in visitor.see("/")
        assert "Everything adds up" in visitor.see("/discrepancies")
        assert "Nothing is set aside" in visitor.see("/set-aside")
        assert "No open question" in visitor.see("/surveys/standing/questions")


def test_structures_hung_after_a_survey_are_not_missed_in_it(office: Office) -> None:
    """A tree that was hung in a later survey does not appear as not looked at in an earlier one without a plan."""
    with office.store.office("ines") as writer:
        design = {"design": "line", "unit": "m", "length": "2", "spacing": "1"}
        writer.write(StructureHung, "structure:L9", "2026-12", design=design)
    assert "/structures/L9" not in office.visitor.see(f"/surveys/{NOW}")
