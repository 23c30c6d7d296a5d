"""Networks as they are at a nursery: gone, breaking, back again; wrong and spent codes, and a server that vanishes."""

import hashlib
from collections.abc import Iterator
from pathlib import Path

import pytest

from mobile.news import News
from mobile.packs import Packs
from mobile.recorder import Recorder
from shared_schema.entries import NoteMade, RulingGiven
from tests.mobile.nursery import SURVEY
from tests.screens.harness import Stage
from tests.screens.relay import Relay
from tests.screens.shore import Harbour, harbour, load_survey, now, on_a_tablet, second_tablet, texts, type_code, type_text

pytestmark = [pytest.mark.screen, pytest.mark.usefixtures("compiled_words")]


@pytest.fixture
def office(tmp_path: Path) -> Iterator[Harbour]:
    """An office whose server is off."""
    with harbour(tmp_path) as there:
        yield there


def enrolled(path: Path, office: Harbour, url: str) -> None:
    """A tablet that was let in at this address."""
    with second_tablet(path) as (store, sync):
        sync.enrol(url, office.code(), "Blue")
        store.settings.put(aboard=["ana"], saw="ana", types="ana", survey=SURVEY)


def ask(stage: Stage, url: str, code: str) -> None:
    """Fill in the first screen, and ask to be let in."""
    screen = stage.ashore.enrol
    screen.url, screen.called = url, "Blue"
    stage.frames(3)
    stage.tap("ask:code")
    for _ in screen.code:
        stage.tap("key:back")
    type_code(stage, code)
    stage.tap("enrol")
    stage.wait_for(lambda: not screen.busy)


def test_each_trouble_of_getting_in_says_what_to_do(tmp_path: Path, office: Harbour) -> None:
    """Nobody answers; a code that nobody gave out; one that was used: three texts, and then the right one lets it in."""
    with on_a_tablet(tmp_path / "a.sqlite") as stage:
        with office.open() as url:
            spent = office.code()
            enrolled(tmp_path / "other.sqlite", office, url)
            with second_tablet(tmp_path / "third.sqlite") as (_, sync):
                sync.enrol(url, spent, "Third")
            ask(stage, url, spent)
            assert "used already" in texts(stage)
            ask(stage, url, "TQFGT-48F6W")
            assert "does not know this code" in texts(stage)
            good = office.code()
        ask(stage, url, good)
        assert "Go where there is a signal" in texts(stage)
        with office.open() as url:
            ask(stage, url, good)
            assert "Next: load the maps" in texts(stage)


def test_the_text_of_the_offices_picture_fills_in_both(tmp_path: Path) -> None:
    """Address and code in one text, as a picture of the office holds them."""
    with on_a_tablet(tmp_path / "a.sqlite") as stage:
        stage.tap("ask:url")
        for _ in "http://":
            stage.tap("key:back")
        for character in "reef.local:8000":
            stage.tap(f"key:{character}")
        stage.tap("key:others")
        stage.tap("key:#")
        stage.tap("key:others")
        type_text(stage, "tqfgt48f6w")
        screen = stage.ashore.enrol
        assert (screen.url, screen.code) == ("http://reef.local:8000", "TQFGT48F6W")


def test_a_load_that_breaks_says_so_and_goes_on_from_there(tmp_path: Path, office: Harbour) -> None:
    """The server hangs up in the middle of a pack: the screen says it, and the next tap fetches only the rest."""
    path = tmp_path / "a.sqlite"
    with office.record.office("sue") as writes:
        for number in range(400):  # what cannot be packed small
            writes.write(NoteMade, "structure:T01", SURVEY, text=hashlib.sha256(bytes([number % 256, number // 256])).hexdigest())
    with office.open() as url, Relay(url) as relay:
        enrolled(path, office, relay.url)
        with on_a_tablet(path) as stage:
            load = stage.ashore.load
            load.tries = 1
            stage.tap("load")
            stage.tap("ask:survey")
            stage.wait_for(lambda: f"pick:{SURVEY}" in stage.targets())
            stage.tap(f"pick:{SURVEY}")
            relay.budget = relay.passed + 9000
            stage.tap("load")
            stage.wait_for(lambda: not load.busy)
            assert "Go where there is a signal" in texts(stage)
            (begun,) = [part.stat().st_size for part in tmp_path.glob("*.part")]
            assert begun > 4000
            relay.down, relay.budget, relay.passed = False, None, 0
            stage.tap("load")
            stage.wait_for(lambda: not load.busy)
            assert load.trouble == ""
            assert stage.day.structures == ("T01", "T02")
            size = next(pack.size for pack in Packs(stage.day.store).all)
            assert relay.passed < size - begun + 3000  # the rest, and the talk about it
            assert list(tmp_path.glob("*.part")) == []


@pytest.mark.parametrize("budget", [0, 60, 150])
def test_a_server_that_vanishes_in_the_middle_of_a_sync_loses_nothing(tmp_path: Path, office: Harbour, budget: int) -> None:
    """Whatever was sent before it vanished, the tablet says what is only here, and the next sync ends with all of it there."""
    path = tmp_path / "a.sqlite"
    with office.open() as url, Relay(url) as relay:
        enrolled(path, office, relay.url)
        with on_a_tablet(path) as stage:
            load_survey(stage)
            for hole in (1, 2, 3):
                stage.day.recorder().mark(f"T01/1.1.{hole}", status="bleached")
            stage.ashore.sync.tries = 1
            stage.tap("sync")
            relay.budget = relay.passed + budget
            stage.tap("send")
            stage.wait_for(lambda: not stage.ashore.sync.busy)
            assert "Go where there is a signal" in texts(stage)
            assert "3 entries are only on this tablet." in texts(stage)
            relay.down, relay.budget = False, None
            stage.tap("send")
            stage.wait_for(lambda: not stage.ashore.sync.busy)
            assert "It is safe to switch off." in texts(stage)
            writer = stage.day.store.identities.own.writer
            assert office.record.heads()[writer] == 3
            for number in (1, 2, 3):
                assert office.record.finding(SURVEY, f"fragment:F-T01-{number}").value("status") == "bleached"


def test_it_sends_by_itself_when_a_network_appears(tmp_path: Path, office: Harbour) -> None:
    """Not under a working finger, and not where it was switched off; then nobody has to think of it."""
    path = tmp_path / "a.sqlite"
    with office.open() as url, Relay(url) as relay:
        enrolled(path, office, relay.url)
        with on_a_tablet(path, by_itself=True) as stage:
            load_survey(stage)
            stage.day.recorder().mark("T01/1.1.1", status="sick")
            stage.tap("sync")
            stage.tap("by_itself")
            stage.clock.now += 600
            stage.ashore.look_out()
            assert not stage.ashore.sync.busy
            stage.tap("by_itself")
            stage.ashore.look_out()
            stage.frames(20)
            assert "1 entry is only on this tablet." in texts(stage)
            relay.down = True
            stage.clock.now += 600
            stage.wait_for(lambda: stage.ashore.lookout.unanswered > 1)
            relay.down = False
            stage.clock.now += 600
            stage.wait_for(lambda: "It is safe to switch off." in texts(stage))


def test_what_others_entered_and_the_office_ruled_comes_back_and_shows(tmp_path: Path, office: Harbour) -> None:
    """A short list until it was seen; and where two disagree it is among the open questions, leading to the structure."""
    path = tmp_path / "a.sqlite"
    with office.open() as url:
        enrolled(path, office, url)
        with on_a_tablet(path) as stage:
            load_survey(stage)
            stage.day.recorder().mark("T01/1.1.1", status="bleached")
            with second_tablet(tmp_path / "b.sqlite") as (other, sync):
                sync.enrol(url, office.code(), "Other")
                sync.load_pack(SURVEY)
                Recorder(other, SURVEY, "ben", now).mark("T01/1.1.1", status="lost")
                assert sync.run().state == "in_step"
            with office.record.office("sue") as writes:
                writes.write(RulingGiven, "fragment:F-T01-2", SURVEY, fact="status", value="could_not_tell")
            stage.tap("sync")
            stage.tap("send")
            stage.wait_for(lambda: not stage.ashore.sync.busy)
            stage.tap("news")
            assert "T01/1.1.1  lost" in texts(stage)
            assert "T01/1.1.2  ruled: can't tell" in texts(stage)
            stage.tap("close")
            assert News(stage.day.store).all == ()
            stage.tap("questions")
            stage.wait_for(lambda: not stage.ashore.tasks.busy)
            assert "1 open question" in texts(stage)
            stage.tap("pick:T01")
            stage.frames(4)
            stage.tap("pick:0")
            stage.frames(4)
            assert stage.app.shell.screens.current == "dive"
