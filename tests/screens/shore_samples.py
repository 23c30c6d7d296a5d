"""The screens before and after a dive, filled as in use: to be measured, and to be looked at."""

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path

from pydantic import JsonValue

from mobile.battery import Battery
from mobile.day import Day
from mobile.lights import light_up
from mobile.screens.troubles import trouble_text
from mobile.store import Store
from mobile.words import Words
from shared_schema.entries import ConditionSeen, PageNotReached, RulingGiven, SurveyPlanned, UpkeepDone, write_entry
from shared_schema.errors import (
    CrosstreeError,
    HashMismatch,
    NotAllowed,
    NothingSuch,
    ProtocolRefused,
    SpentCode,
    StorageError,
    TooManyTries,
    Unreachable,
    WireError,
)
from shared_schema.wire import PROTOCOL, Offers, StructureOffer, SurveyOffer
from tests.mobile.fake_server import FakeServer
from tests.mobile.nursery import BEFORE, NOW, SURVEY, Ticking, lines_of, office_author, small_nursery, tablet
from tests.mobile.syncing import syncing
from tests.screens.harness import TABLET, Glass, Stage, staged
from tests.screens.samples import untouched_tree

__all__ = ["TROUBLES", "busy_tablet", "shore_screens"]

PEOPLE = ("Ana Maria", "Bartholomew", "Chloé", "Dewi", "Elías", "Fatoumata", "Guadalupe")
TROUBLES: tuple[CrosstreeError, ...] = (
    Unreachable(),
    SpentCode(),
    TooManyTries(),
    NotAllowed(),
    ProtocolRefused(),
    HashMismatch(),
    WireError(),
    NothingSuch(),
    StorageError(),
    CrosstreeError(),
)
OFFERS = Offers(
    protocol=PROTOCOL,
    surveys=(SurveyOffer(id=SURVEY, name="November", opens="2026-11-01", closes="2026-11-30", structures=("T01",)),),
    structures=tuple(StructureOffer(id=f"T{number:02}", name=f"Reef side {number}") for number in range(1, 25)),
)


@contextmanager
def busy_tablet(path: Path) -> Iterator[Day]:
    """A tablet in the middle of a day: loaded, seven people aboard, a dive saved, some entries sent and others not."""
    statuses = {"F-T01-1": "sick", "F-T01-2": "preyed_on", "F-T01-3": "bleached", "F-T02-4": "lost", "F-T02-5": "fading"}
    server = FakeServer(lines_of(small_nursery(statuses=statuses)))
    server.admit("k7f3qz")
    with tablet(path, statuses=statuses) as store:
        day = Day(store, Ticking())
        syncing(store, server).load_pack(SURVEY, ["T01", "T02"])
        day.choose_survey(SURVEY)
        for name in PEOPLE:
            day.add_person(name)
        day.types("chloe")
        store.settings.put(news_since=dict(store.heads()))
        day.recorder().log_dive(("dewi",), place="North reef, outer buoy", went_in=NOW, depth_cm=1250, water_temp_dc=275)
        day.recorder().mark("T01/1.1.1", status="sick", tie="loose", overgrowth=("algae",))
        day.recorder().check_tag("T01/1.1.2", "unreadable")
        _from_elsewhere(server)
        syncing(store, server).run()
        store.settings.put(
            receipt={
                "at": NOW.isoformat(),
                "sent": 1312,
                "received": 2204,
                "photos": 12,
                "number": 1312,
                "heads": {"k7f3qz": 1312, "officeab": 120_455},
            }
        )
        day.recorder().photo("T01/1.1.1", b"\xff\xd8\xff" + bytes(100))
        day.recorder().note("T01", "current from the south")
        yield day


def _from_elsewhere(server: FakeServer) -> None:
    """Another boat's entries, and the office's word."""
    ben = office_author(writer="b2m9xw")
    ben.by = "ben"
    ben.write(ConditionSeen, "fragment:F-T01-1", SURVEY, status="lost")
    ben.write(PageNotReached, "page:T02/2", BEFORE, reason="strong current")
    ben.write(UpkeepDone, "structure:T01", BEFORE, work=("cleaned",))
    office = office_author(len(server.entries["officeab"]))
    office.write(RulingGiven, "fragment:F-T02-5", BEFORE, fact="status", value="could_not_tell")
    plan = next(one for one in small_nursery() if isinstance(one, SurveyPlanned))
    go = {"people": ("ben", "bartholomew", "guadalupe"), "replaces": (plan.id,)}
    office.write(SurveyPlanned, plan.subject, **{fact: getattr(plan, fact) for fact in SurveyPlanned.STATES} | go)
    server.entries["b2m9xw"] = [write_entry(entry) for entry in ben.written]
    server.entries["officeab"] += [write_entry(entry) for entry in office.written]


def shore_screens(
    folder: Path, glass: Glass = TABLET, words: Words | None = None, **preferences: JsonValue
) -> Iterator[tuple[str, Stage]]:
    """Every screen before and after a dive, and every sheet over them, one after the other."""
    with (
        Store(folder / "new.sqlite") as store,
        staged(untouched_tree(), glass, words, Day(store, Ticking()), None, **preferences) as stage,
    ):
        yield from _first_start(stage)
    with (
        tablet(folder / "bare.sqlite") as store,
        staged(untouched_tree(), glass, words, Day(store, Ticking()), None, **preferences) as stage,
    ):
        yield "home_bare", stage
        yield from _tapped(stage, "aboard")
        yield from _tapped(stage, "back", "load", then=lambda: bool(stage.ashore.load.lights))
    with busy_tablet(folder / "busy.sqlite") as day, staged(untouched_tree(), glass, words, day, None, **preferences) as stage:
        yield "home", stage
        yield from _before(stage)
        yield from _dive(stage)
        yield from _after(stage)


def _tapped(stage: Stage, *names: str, then: Callable[[], bool] = lambda: True) -> Iterator[tuple[str, Stage]]:
    for name in names:
        stage.tap(name)
    stage.wait_for(then)
    stage.frames(6)
    yield "_".join(name.replace(":", "_") for name in names), stage


def _first_start(stage: Stage) -> Iterator[tuple[str, Stage]]:
    yield "enrol", stage
    yield from _tapped(stage, "ask:url")
    yield from _tapped(stage, "key:others")
    yield from _tapped(stage, "close", "ask:code")
    for key in "TQFGT48F6X":
        stage.tap(f"key:{key}")
    stage.frames(4)
    yield "code_with_a_slip", stage
    stage.tap("close")
    screen = stage.ashore.enrol
    screen.url, screen.code, screen.called = "http://nursery-of-the-outer-reef.example.org:8000", "TQFGT48F6W", "Blue tablet"
    for error in TROUBLES:
        screen.trouble = trouble_text(error)
        stage.frames(4)
        yield f"enrol_{type(error).__name__}", stage


def _before(stage: Stage) -> Iterator[tuple[str, Stage]]:
    load = stage.ashore.load
    yield from _tapped(stage, "aboard")
    yield from _tapped(stage, "back", "load", then=lambda: bool(load.lights))
    load.offers = OFFERS
    yield from _tapped(stage, "ask:survey")
    yield from _tapped(stage, f"pick:{SURVEY}", "ask:scope")
    yield from _tapped(stage, "pick:some")
    stage.tap("pick:T02")
    stage.tap("close")
    for level, charging in ((8, True), (35, False), (90, True)):
        load.lights = list(light_up(stage.day.store, SURVEY, Battery(level, charging), free_bytes=level * 10_000_000))
        load.refresh()
        stage.frames(4)
        yield f"load_at_{level}", stage
    for error in TROUBLES:
        load.trouble = trouble_text(error)
        stage.frames(4)
        yield f"load_{type(error).__name__}", stage
    load.trouble, load.says, load.share, load.busy = "", "12.4 / 140.2 MB", 0.3, "load"
    stage.frames(4)
    yield "load_under_way", stage
    load.busy = ""
    stage.frames(2)
    stage.tap("back")


def _dive(stage: Stage) -> Iterator[tuple[str, Stage]]:
    stage.ashore.show_dive(stage.day.today.visit or "")
    stage.frames(6)
    yield "log", stage
    yield from _tapped(stage, "day")
    yield from _tapped(stage, "close", "went_in")
    yield from _tapped(stage, "close", "temperature")
    yield from _tapped(stage, "close", "people")
    yield from _tapped(stage, "close", "slate")
    yield from _tapped(stage, "close", "cautions")
    yield from _tapped(stage, "close", "note")
    stage.tap("close")
    stage.tap("depth")
    for key in ("key:back", "key:back", "key:back", "key:back", "key:9", "key:9", "key:done"):
        stage.tap(key)
    stage.frames(4)
    yield "log_unusual", stage
    stage.ashore.log.trouble = trouble_text(StorageError())
    stage.frames(4)
    yield "log_trouble", stage
    stage.tap("back")


def _after(stage: Stage) -> Iterator[tuple[str, Stage]]:
    sync = stage.ashore.sync
    yield from _tapped(stage, "sync")
    yield from _tapped(stage, "news")
    stage.tap("close")
    for error in TROUBLES:
        sync.trouble = trouble_text(error)
        stage.frames(4)
        yield f"sync_{type(error).__name__}", stage
    sync.doing, sync.busy = "…", True
    stage.frames(4)
    yield "sync_under_way", stage
    sync.busy, sync.doing, sync.trouble = False, "", ""
    yield from _tapped(stage, "questions", then=lambda: not stage.ashore.tasks.busy)
    yield from _tapped(stage, "only:all")
    yield from _tapped(stage, "pick:T01")
    stage.tap("close")
    stage.tap("back")
    stage.day.store.notices.post("new_identity", "twin", NOW)
    stage.ashore.go_home()
    stage.frames(6)
    yield "notice_new_identity", stage
