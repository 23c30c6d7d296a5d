"""The way from the first start to the boat and back, by taps, against a real server."""

from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from mobile.store import Store
from shared_schema.author import Author
from shared_schema.entries import BaseEntry, SurveyPlanned
from tests.mobile.nursery import SURVEY, Ticking
from tests.screens.dive_stage import dive_staged, nursery
from tests.screens.harness import Stage, staged
from tests.screens.samples import untouched_tree
from tests.screens.shore import Harbour, harbour, load_survey, on_a_tablet, texts, type_code, type_text
from tests.screens.shore_samples import busy_tablet

pytestmark = [pytest.mark.screen, pytest.mark.usefixtures("compiled_words")]


@pytest.fixture
def office(tmp_path: Path) -> Iterator[Harbour]:
    """An office whose server is off."""
    with harbour(tmp_path) as there:
        yield there


def enrol(stage: Stage, url: str, code: str) -> None:
    """Type address, code and name, and let the tablet in."""
    stage.tap("ask:url")
    for _ in "http://":
        stage.tap("key:back")
    type_text(stage, url)
    stage.tap("ask:code")
    type_code(stage, code)
    stage.tap("ask:name")
    type_text(stage, "Blue")
    stage.tap("enrol")
    stage.wait_for(lambda: not stage.ashore.enrol.busy)


def test_a_new_tablet_is_let_in_loads_and_sends(tmp_path: Path, office: Harbour) -> None:
    """From the first start to the last entry at the server, and each screen says the next thing to do."""
    with office.open() as url, on_a_tablet(tmp_path / "a.sqlite") as stage:
        assert "First: type the address" in texts(stage)
        enrol(stage, url.removeprefix("http://"), office.code())
        assert "Next: load the maps" in texts(stage)
        load_survey(stage)
        assert "Next: say who is aboard." in texts(stage)
        stage.tap("aboard")
        stage.tap("pick:ana")
        stage.tap("pick:ben")
        stage.tap("back")
        stage.tap("types:ben")
        assert "Next: choose a structure" in texts(stage)
        done = stage.day.recorder().mark("T01/1.1.1", status="bleached")
        assert (done.entries[0].by, done.entries[0].typed_by) == ("ana", "ben")
        stage.tap("sync")
        assert "1 entry is only on this tablet." in texts(stage)
        stage.tap("send")
        stage.wait_for(lambda: not stage.ashore.sync.busy)
        assert "It is safe to switch off." in texts(stage)
        assert "1 sent, 0 received, 0 photos" in texts(stage)
        writer = done.entries[0].writer
        assert office.record.heads()[writer] == 1
        assert office.record.finding(SURVEY, "fragment:F-T01-1").value("status") == "bleached"
    with Store(tmp_path / "a.sqlite") as store:
        assert store.settings.get("aboard") == ["ana", "ben"]


def test_those_who_go_by_the_plan_stand_first_and_say_so(tmp_path: Path) -> None:
    """Who comes aboard is a tap each; whoever goes by the plan is on top of the list."""
    with dive_staged(tmp_path / "a.sqlite", more=_plan_of(("chloe",))) as dive:
        dive.stage.ashore.go_home()
        dive.stage.frames(4)
        dive.stage.tap("aboard")
        dive.stage.frames(4)
        assert [name for name in dive.stage.targets() if name.startswith("pick:")] == ["pick:chloe", "pick:ana", "pick:ben"]
        assert texts(dive.stage).count("on the plan") == 1
        dive.stage.tap("pick:chloe")
        assert dive.store.settings.get("aboard") == ["ana", "ben", "chloe"]


def _plan_of(people: tuple[str, ...]) -> list[BaseEntry]:
    """The office plans the survey anew, and names people."""
    office = Author("officecd", 0, "sue", Ticking())
    said: dict[str, Any] = {"name": "November", "opens": "2026-11-01", "closes": "2026-11-30", "structures": ("T07", "T08")}
    plan = next(one for one in nursery(("T07", "T08")) if isinstance(one, SurveyPlanned))
    office.write(SurveyPlanned, f"survey:{SURVEY}", people=people, replaces=(plan.id,), **said)
    return office.written


def test_another_witness_is_named_from_a_page(tmp_path: Path) -> None:
    """Two dived, one types: from the page it is a tap to name the other one, and the page is still there."""
    with dive_staged(tmp_path / "a.sqlite", at="T07/2") as dive:
        dive.tap("2.1.1", "status:sick", "more", "offer:people", "saw:ben", "close", "2.1.2", "status:sick")
        entries = [dive.store.entries_of(SURVEY, f"fragment:F-T07-2.1.{hole}")[0] for hole in (1, 2)]
        assert [(entry.by, entry.typed_by) for entry in entries] == [("ana", None), ("ben", "ana")]


def test_everybody_aboard_can_be_named_where_not_all_names_fit(tmp_path: Path) -> None:
    """The row shows some and the one who is named; the others are behind its last button."""
    with busy_tablet(tmp_path / "a.sqlite") as day, staged(untouched_tree(), day=day) as stage:
        shown = [name for name in stage.targets() if name.startswith("saw:")]
        assert shown == ["saw:ana-maria", "saw:bartholomew", "saw:chloe", "saw:dewi", "saw:more"]
        stage.tap("saw:more")
        stage.frames(3)
        stage.tap("later")
        stage.frames(3)
        stage.tap("pick:guadalupe")
        stage.frames(3)
        assert day.today.saw is not None
        assert day.today.saw.id == "guadalupe"
        assert "saw:guadalupe" in stage.targets()
