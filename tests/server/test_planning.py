"""A supervisor plans surveys on the pages: what tablets are offered follows, and what was planned before stays readable."""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date

import pytest

from server.registry.surveys import Asked, PlanRefused, plan_survey
from server.review.planning import lay_out_plan, plan_steps, propose_survey, site_zone
from server.store.offers import list_offers
from server.store.record import RecordStore
from shared_schema.entries import SurveyPlanned
from tests.server.conftest import Nursery
from tests.server.running import running
from tests.server.small_nursery import BEFORE, NOW, SmallNursery, fill
from tests.server.visitor import Visitor, texts

GIVEN = {"label": "2026-12", "name": "December", "opens": "2026-12-02", "closes": "2026-12-05", "structures": "T1"}


@dataclass
class Office:
    """The small nursery with its pages open."""

    url: str
    store: RecordStore
    boats: SmallNursery
    visitor: Visitor

    def send(self, action: str, **given: str) -> tuple[int, str]:
        """What Inés gets to read when she sends the form of a plan."""
        (form,) = self.visitor.forms(action, "plan")
        hidden = type(form)(form.action, [pair for pair in form.hidden if pair[0] in ("token", "seen")])
        answer = self.visitor.send(hidden, None, **given)
        return answer.status_code, texts(answer.text)


@pytest.fixture
def office(lite: Nursery) -> Iterator[Office]:
    """The small nursery, seen by Inés."""
    settings, store = lite
    boats = fill(store)
    with running(settings) as (url, _):
        yield Office(url, store, boats, Visitor(url, store))


def offered(store: RecordStore, survey: str) -> tuple[str, str, str, tuple[str, ...]] | None:
    """What tablets are offered of a survey."""
    for one in list_offers(store).surveys:
        if one.id == survey:
            return one.name, one.opens, one.closes, one.structures
    return None


def test_a_survey_is_planned_on_the_pages_and_offered_to_tablets(office: Office) -> None:
    """The form proposes the next month with its days, and what the survey before left; what she sends is the plan."""
    page = office.visitor.see("/plan")
    assert 'value="2027-' in page or 'value="2026-12"' in page
    assert page.count('name="structures"') == 3
    status, _ = office.send("/plan", **GIVEN, people="ben")
    assert status == 303
    assert offered(office.store, "2026-12") == ("December", "2026-12-02", "2026-12-05", ("T1",))
    (held,) = office.store.entries_of("", "survey:2026-12")
    assert isinstance(held.entry, SurveyPlanned)
    assert (held.entry.by, held.entry.people) == ("ines", ("ben",))
    assert "December" in office.visitor.see("/")


def test_a_changed_plan_keeps_its_history_and_its_new_offer(office: Office) -> None:
    """Each change says who, when, and what came and went; sending the same again writes nothing."""
    path = f"/surveys/{NOW}/plan"
    changed = {"name": "November", "opens": "2026-11-14", "closes": "2026-11-16", "structures": "T1", "people": "ana"}
    assert office.send(path, **changed)[0] == 303
    assert offered(office.store, NOW) == ("November", "2026-11-14", "2026-11-16", ("T1",))
    read = texts(office.visitor.see(path))
    assert "− 2 L1, B1" in read
    assert "+ 1 Ana Crew" in read
    assert "+ 3 T1, L1, B1" in read, "the first plan stays readable"
    before = office.store.heads()
    assert office.send(path, **changed)[0] == 303
    assert office.store.heads() == before
    assert not office.store.finding("", f"survey:{NOW}").open


REFUSED: tuple[tuple[dict[str, str], str], ...] = (
    ({"label": "2026-13"}, "2026-13 : No survey name: write its month or day"),
    ({"label": NOW}, f"{NOW} : It is planned already: change that plan"),
    ({"opens": "2026-12-32"}, "2026-12-32 : No day of the calendar"),
    ({"opens": "04/03/2026"}, "04/03/2026 : Ambiguous: write 2026-03-04 or 2026-04-03"),
    ({"closes": "2026-12-01"}, "2026-12-01 : It would close before it opens on 2026-12-02: exchange the two days"),
    ({"name": "x" * 201}, "write at most 200 characters"),
    ({"structures": "T9"}, "T9 : There is none of that name in the record: load it first, or leave it out"),
    ({"people": "zoe"}, "zoe : There is none of that name in the record"),
    ({"structures": ""}, "There is none of that name"),
)


def test_what_cannot_be_planned_is_said_beside_its_field(office: Office) -> None:
    """Field, value and what to do; nothing is written, and what she typed is still there."""
    before = office.store.heads()
    for given, said in REFUSED:
        status, read = office.send("/plan", **(GIVEN | given))
        assert status == 422, given
        assert said in read, given
    assert office.store.heads() == before


def test_no_structure_chosen_is_no_plan(office: Office) -> None:
    """On the command line none named means all; on a form none ticked means none."""
    given = {name: value for name, value in GIVEN.items() if name != "structures"}
    assert "choose at least one" in office.send("/plan", **given)[1].lower()
    assert plan_survey(office.store, Asked("2026-12"))
    assert office.store.standing("survey:2026-12").value("structures") == ["B1", "L1", "T1"]


def test_a_plan_that_somebody_changed_meanwhile_is_not_covered(office: Office) -> None:
    """Two supervisors have it open: the second is told, and reads what the first planned."""
    (form,) = office.visitor.forms(f"/surveys/{NOW}/plan", "plan")
    plan_survey(office.store, Asked(NOW, "Otto's", structures=("L1",)), by="otto")
    answer = office.visitor.send(type(form)(form.action, form.hidden), structures="T1")
    assert answer.status_code == 422
    assert "planned it anew while you looked" in texts(answer.text)
    assert office.store.standing(f"survey:{NOW}").value("structures") == ["L1"]


def test_many_structures_are_chosen_at_once_without_scripts(office: Office) -> None:
    """The buttons give the form back with the boxes ticked, and plan nothing yet."""
    (form,) = office.visitor.forms("/plan", "plan")
    before = office.store.heads()
    everything = {"B1", "L1", "T1"}
    for pick, ticked in (
        ("all", everything),
        ("none", set()),
        ("due", everything),
        ("without made up", set()),
        ("with made up", everything),
    ):
        answer = office.visitor.send(type(form)(form.action, form.hidden), None, **GIVEN, pick=pick)
        assert answer.status_code == 200
        assert {name for name in everything if f'value="{name}" checked' in answer.text} == ticked, pick
        assert 'value="December"' in answer.text
    assert office.store.heads() == before


def test_due_is_what_the_survey_before_did_not_sign_off(nursery: Nursery) -> None:
    """All of it was signed in the survey before NOW; after NOW, nothing was signed whole."""
    _, store = nursery
    fill(store)
    assert {one.structure for one in lay_out_plan(store, NOW).choices if one.due} == set()
    later = lay_out_plan(store, "2026-12")
    assert {one.structure: one.signed for one in later.choices} == {"B1": 0, "L1": 1, "T1": 4}
    assert all(one.due for one in later.choices)
    assert all(one.due for one in lay_out_plan(store, BEFORE).choices), "nothing went before the first"
    assert plan_survey(store, Asked("2026-12", people=("ben",)))
    assert [step.changed["people"] for step in plan_steps(store, "2026-12")] == [((), ("ben",))]
    assert str(site_zone(store)) == "UTC-04:00"


def test_a_reader_sees_the_plan_and_no_form(office: Office) -> None:
    """Who may not plan is not offered to."""
    reader = Visitor(office.url, office.store, "rita", "reader")
    page = reader.see(f"/surveys/{NOW}/plan")
    assert "data-plan" not in page
    assert "A supervisor plans surveys." in page
    assert reader.get("/plan").status_code == 403


@pytest.mark.parametrize(
    ("known", "today", "name"),
    [
        ([], date(2026, 11, 25), "2026-11"),
        (["2026-10", "2026-09"], date(2026, 11, 25), "2026-11"),
        (["2026-11"], date(2026, 11, 25), "2026-12"),
        (["2026-11-14b"], date(2026, 11, 25), "2026-12"),
        (["2026-12"], date(2026, 11, 25), "2027-01"),
    ],
)
def test_the_name_proposed_comes_after_all_there_are(known: list[str], today: date, name: str) -> None:
    """This month, or the month after the newest."""
    assert propose_survey(known, today) == name
    assert all(name > one for one in known)


def test_days_are_labelled_with_the_clock_of_the_site(office: Office) -> None:
    """As the tablets' clocks are set; where no tablet brought anything, nobody knows."""
    assert "at the site, UTC−4" in office.visitor.see("/plan")
    assert str(site_zone(office.store)) == "UTC-04:00"


def test_faults_are_told_together(lite: Nursery) -> None:
    """One look is enough to mend them all."""
    _, store = lite
    with pytest.raises(PlanRefused) as refused:
        plan_survey(store, Asked("2026-12", opens="soon", structures=("T9", "T8"), people=("zoe",)))
    assert [(one.field, one.value) for one in refused.value.faults] == [
        ("opens", "soon"),
        ("structures", "T9"),
        ("structures", "T8"),
        ("people", "zoe"),
    ]
    assert site_zone(store) is None
