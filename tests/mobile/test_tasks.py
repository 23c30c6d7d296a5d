"""What waits on a structure: worked out from the record, and gone as soon as somebody entered that it was done."""

from datetime import date
from pathlib import Path

import pytest

from mobile.store import Store
from mobile.tasks import USUAL_DAYS, Task, tasks_of
from shared_schema.entries import ConditionSeen, UpkeepDone
from tests.mobile.nursery import BEFORE, SURVEY, lines_of, office_author, recorder, small_nursery, tablet

TODAY = date(2026, 11, 14)


def said(store: Store, structure: str = "T01", today: date = TODAY) -> list[tuple[str, str, str]]:
    """Sort, place and reason of what waits."""
    return [(task.sort, task.where, task.said) for task in tasks_of(store, structure, SURVEY, today).tasks]


def test_corals_in_trouble_last_time_are_looked_at_again_until_they_were(tmp_path: Path) -> None:
    """Sick, preyed on, bleached, fading or lost in an earlier survey; alive ones and those of other structures do not wait."""
    statuses = {"F-T01-1": "sick", "F-T01-2": "alive", "F-T01-3": "lost", "F-T02-1": "bleached"}
    with tablet(tmp_path / "a.sqlite", statuses=statuses) as store:
        assert said(store) == [("look_again", "T01/1.1.1", "sick"), ("look_again", "T01/1.1.3", "lost")]
        recorder(store).mark("T01/1.1.1", status="alive")
        assert said(store) == [("look_again", "T01/1.1.3", "lost")]


def test_a_disagreement_waits_until_it_is_settled(tmp_path: Path) -> None:
    """Two who did not know of each other: the place is listed, with the fact in dispute."""
    with tablet(tmp_path / "a.sqlite") as store:
        recorder(store).mark("T01/1.1.1", status="bleached")
        other = office_author(writer="b2m9xw")
        other.by = "ben"
        other.write(ConditionSeen, "fragment:F-T01-1", SURVEY, status="lost")
        store.take(lines_of(other.written))
        assert said(store) == [("question", "T01/1.1.1", "status")]


def test_ties_tags_and_growth_wait_until_the_work_is_entered(tmp_path: Path) -> None:
    """Each by the work that ends it, or by a better word about it."""
    with tablet(tmp_path / "a.sqlite") as store:
        crew = recorder(store)
        crew.mark("T01/1.1.1", tie="loose", overgrowth=("algae",))
        crew.check_tag("T01/1.1.2", "unreadable")
        assert said(store) == [
            ("tie", "T01/1.1.1", "loose"),
            ("tag", "T01/1.1.2", "unreadable"),
            ("overgrown", "T01/1.1.1", "algae"),
        ]
        crew.upkeep("T01/1.1.2", ["tag_cleaned"])
        crew.upkeep("fragment:F-T01-1", ["tie_replaced"])
        crew.mark("T01/1.1.1", overgrowth=())
        assert [sort for sort, _, _ in said(store)] == ["tag"]
        crew.check_tag("T01/1.1.2", "readable")
        assert said(store) == []


def test_a_page_that_nobody_reached_waits_until_somebody_did(tmp_path: Path) -> None:
    """Of the last survey before; one that was signed off then does not wait, nor one that was signed off since."""
    with tablet(tmp_path / "a.sqlite") as store:
        before = recorder(store, survey=BEFORE)
        before.not_reached("T01/1", "current")
        before.sign_off("T01/2")
        assert said(store) == [("not_reached", "T01/1", "current")]
        recorder(store).sign_off("T01/1")
        assert said(store) == []


@pytest.mark.parametrize(
    ("days", "due"),
    [((USUAL_DAYS,), True), ((USUAL_DAYS - 1,), False), ((70, 60, 50), True), ((190, 100, 10), False), ((), False)],
)
def test_cleaning_is_due_by_the_structures_own_rhythm(tmp_path: Path, days: tuple[int, ...], due: bool) -> None:
    """By its median where three cleanings are known, else after a month; one that was never cleaned has no rhythm."""
    office = office_author(len(small_nursery()))
    for back in days:
        observed = date.fromordinal(TODAY.toordinal() - back).isoformat() + "T09:00:00+00:00"
        office.write(UpkeepDone, "structure:T01", BEFORE, work=("cleaned",), observed=observed)
    with tablet(tmp_path / "a.sqlite") as store:
        store.take(lines_of(office.written))
        assert [task.sort for task in tasks_of(store, "T01", SURVEY, TODAY).tasks] == (["cleaning"] if due else [])


def test_a_task_leads_to_its_page() -> None:
    """Of a place and of a page alike; what is about the structure leads to no page of it."""
    assert [Task("tie", "T01", where).page for where in ("T01/3.2.4", "T01/3", "T01")] == ["3", "3", ""]
