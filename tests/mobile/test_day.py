"""Today on the boat: who is aboard, who saw, who types, in which survey and on which dive."""

from pathlib import Path
from typing import Any

import pytest

from mobile.day import Day
from mobile.store import Store
from shared_schema.entries import PersonListed, SurveyPlanned, write_entry
from shared_schema.errors import NotAllowed, NothingSuch, SchemaError
from tests.mobile.nursery import SURVEY, Ticking, office_author, small_nursery, tablet


def names(day: Day) -> list[str]:
    """Who is aboard."""
    return [person.name for person in day.today.aboard]


def test_who_comes_aboard_first_sees_and_types(tmp_path: Path) -> None:
    """Until somebody says otherwise; whoever goes ashore no longer does."""
    with tablet(tmp_path / "a.sqlite") as store:
        day = Day(store, Ticking())
        assert [person.name for person in day.people] == ["Ana", "Ben"]
        assert (day.today.saw, day.today.types, day.today.can_record) == (None, None, False)
        day.toggle("ben")
        day.toggle("ana")
        day.types("ana")
        today = day.today
        assert names(day) == ["Ben", "Ana"]
        assert (today.saw and today.saw.id, today.types and today.types.id) == ("ben", "ana")
        day.toggle("ben")
        assert day.today.saw == day.today.types
        assert day.today.saw is not None
        assert day.today.saw.name == "Ana"


def test_those_who_go_by_the_plan_are_offered_first(tmp_path: Path) -> None:
    """Once its survey is chosen, each of the two by name. A plan that says nothing of people leaves all of them by name."""
    with tablet(tmp_path / "a.sqlite") as store:
        day = Day(store, Ticking())
        day.choose_survey(SURVEY)
        assert day.expected == frozenset()
        office = office_author(len(small_nursery()))
        for name in ("Dewi", "chloe", "Aron"):
            office.write(PersonListed, f"person:{name.lower()}", name=name)
        (plan,) = store.entries_of("", f"survey:{SURVEY}")
        said: dict[str, Any] = {"name": "November", "opens": "2026-11-01", "closes": "2026-11-30", "replaces": (plan.id,)}
        office.write(SurveyPlanned, f"survey:{SURVEY}", people=("dewi", "ben", "nobody-listed"), **said)
        store.take([write_entry(entry) for entry in office.written])
        assert [person.name for person in day.people] == ["Ben", "Dewi", "Ana", "Aron", "chloe"]
        assert day.today.aboard == ()
        day.choose_survey("2026-08")
        assert [person.name for person in day.people] == ["Ana", "Aron", "Ben", "chloe", "Dewi"]


def test_every_entry_knows_who_saw_and_who_typed(tmp_path: Path) -> None:
    """Who types for himself is named once; who types for another is named beside the one who saw."""
    with tablet(tmp_path / "a.sqlite") as store:
        day = Day(store, Ticking())
        day.choose_survey(SURVEY)
        day.board(("ana", "ben"))
        own = day.recorder().mark("T01/1.1.1", status="bleached").entries[0]
        day.saw("ben")
        other = day.recorder().mark("T01/1.1.2", status="bleached").entries[0]
        assert [(entry.by, entry.typed_by, entry.survey) for entry in (own, other)] == [
            ("ana", None, SURVEY),
            ("ben", "ana", SURVEY),
        ]


def test_today_outlives_a_restart(tmp_path: Path) -> None:
    """The battery may be pulled at any moment: people, survey and dive are as they were."""
    path = tmp_path / "a.sqlite"
    with tablet(path) as store:
        day = Day(store, Ticking())
        day.choose_survey(SURVEY)
        day.board(("ana", "ben"))
        day.types("ben")
        day.recorder().log_dive(("ana",))
        before = day.today
        assert before.visit is not None
    with Store(path) as store:
        day = Day(store, Ticking())
        assert day.today == before
        assert day.recorder().mark("T01/1.1.1", status="sick").entries[0].visit == before.visit


def test_a_dive_belongs_to_one_survey(tmp_path: Path) -> None:
    """Another survey begins without a dive, the same one keeps it."""
    with tablet(tmp_path / "a.sqlite") as store:
        day = Day(store, Ticking())
        day.choose_survey(SURVEY)
        day.board(("ana",))
        day.recorder().log_dive()
        day.choose_survey(SURVEY)
        assert day.today.visit is not None
        day.choose_survey("2026-08")
        assert day.today.visit is None


def test_nobody_records_without_a_name_or_a_survey(tmp_path: Path) -> None:
    """An entry without its witness would be worth nothing: the message says what to do first."""
    with tablet(tmp_path / "a.sqlite") as store:
        day = Day(store, Ticking())
        with pytest.raises(NothingSuch, match="who is aboard"):
            day.recorder()
        day.board(("ana",))
        with pytest.raises(NothingSuch, match="choose one first"):
            day.recorder()
        with pytest.raises(NothingSuch, match="not aboard"):
            day.saw("ben")


def test_somebody_whom_the_office_did_not_list_can_come_along(tmp_path: Path) -> None:
    """A guest gets an id that can be read, is aboard at once, and is listed for everybody after the next sync."""
    with tablet(tmp_path / "a.sqlite") as store:
        day = Day(store, Ticking())
        assert day.add_person("Chloé  Martin") == "chloe-martin"
        assert day.add_person("chloé martin") == "chloe-martin"
        assert day.add_person("Ana") == "ana"
        assert day.add_person("Ána") == "ana-2"
        assert names(day) == ["Chloé Martin", "Ana", "Ána"]
        assert [entry.by for entry in store.entries_of("", "person:chloe-martin")] == ["chloe-martin"]
        for name in ("", " 12 ", "x" * 41):
            with pytest.raises(SchemaError, match="no name"):
                day.add_person(name)


def test_a_tablet_that_was_never_enrolled_says_so(tmp_path: Path) -> None:
    """It knows nobody, and lists nobody."""
    with Store(tmp_path / "a.sqlite") as store:
        day = Day(store, Ticking())
        assert not day.enrolled
        assert day.today.nursery == ""
        with pytest.raises(NotAllowed):
            day.add_person("Ana")
        assert day.people == ()
