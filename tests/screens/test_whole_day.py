"""A whole day by taps alone: from the first start of a tablet to the server's record of what two divers saw."""

from collections import Counter
from pathlib import Path
from typing import Any, Final

import pytest

from shared_schema.entries import (
    BaseEntry,
    ConditionSeen,
    DiveLogged,
    EntryWithdrawn,
    FragmentHarvested,
    FragmentMoved,
    FragmentPlanted,
    NoteMade,
    PageNotReached,
    PageSignedOff,
    read_entry,
)
from shared_schema.ready_words import NOT_REACHED
from tests.mobile.nursery import SURVEY
from tests.screens.dive_stage import DESIGNS, nursery
from tests.screens.harness import Clock, Stage
from tests.screens.shore import Harbour, harbour, on_a_tablet, texts, type_code, type_text

pytestmark = [pytest.mark.screen, pytest.mark.usefixtures("compiled_words")]

TREE: Final = {
    "1.1.4": "bleached",
    "1.3.2": "sick",
    "1.4.5": "lost",
    "2.2.1": "fading",
    "2.2.3": "bleached",
    "3.1.1": "preyed_on",
    "3.1.5": "dead",
    "3.2.2": "bleached",
    "3.4.4": "could_not_tell",
    "4.3.3": "lost",
    "5.1.2": "bleached",
    "5.4.1": "fading",
}
"""What Ana's slate says of T07: twelve exceptions, spread over all five levels."""
BARE: Final = ("T08/2.1.1", "T08/2.1.2")
LOOK_S, THINK_S, TAP_S = 0.8, 1.35, 0.8  # Card, Moran & Newell (1980)


def read_until(stage: Stage, text: str) -> None:
    """Wait until something can be read."""
    stage.wait_for(lambda: text in texts(stage))


def get_in(stage: Stage, url: str, code: str) -> None:
    """Type address, code and a name."""
    assert "First: type the address" in texts(stage)
    stage.tap("ask:url")
    type_text(stage, url.removeprefix("http://"))
    stage.tap("ask:code")
    type_code(stage, code)
    stage.tap("ask:name")
    type_text(stage, "Blue")
    stage.tap("enrol")
    read_until(stage, "Next: load the maps")


def load_two(stage: Stage) -> None:
    """Of the three structures of the survey, this boat takes two."""
    stage.tap("load")
    stage.tap("ask:survey")
    read_until(stage, "November")
    stage.tap(f"pick:{SURVEY}")
    for name in ("ask:scope", "pick:some", "pick:T07", "pick:T08", "close", "load"):
        stage.tap(name)
    read_until(stage, "entries loaded")
    stage.tap("back")


def come_aboard(stage: Stage) -> None:
    """Ana saw what comes first; Ben types."""
    for name in ("aboard", "pick:ana", "pick:ben", "back", "types:ben"):
        stage.tap(name)
    assert "Next: choose a structure" in texts(stage)


def say_which_dive(stage: Stage) -> None:
    """The time in is offered by the clock; place and depth are typed."""
    for name in ("dive", "went_in", "key:done", "place"):
        stage.tap(name)
    type_text(stage, "reef")  # the first letter is large by itself
    for name in ("depth", "key:6", "key:.", "key:1", "key:done", "save"):
        stage.tap(name)
    assert "Ana, Ben" in texts(stage)
    assert "Saved" in texts(stage)
    stage.tap("back")


def enter_the_tree(stage: Stage) -> None:
    """Five pages: the exceptions, then the signature. At most 50 taps, and 90 s by the keystroke-level model."""
    stage.tap("structures")
    before = stage.taps
    stage.tap("pick:T07")
    for level in range(1, 6):
        for path, status in TREE.items():
            if path.startswith(f"{level}."):
                stage.tap(path)
                stage.tap(f"status:{status}")
        here = sum(path.startswith(f"{level}.") for path in TREE)
        assert f"{20 - here} alive" in texts(stage)
        stage.tap("sign_off", after_s=10)
    taps = stage.taps - before
    assert taps <= 50
    # To look the next exception up and to decide about it; to decide that a page is done.
    assert taps * TAP_S + len(TREE) * (LOOK_S + THINK_S) + 5 * THINK_S <= 90
    assert texts(stage).count(" 0 unseen") == 5, "all five are in the summary"


def enter_the_second(stage: Stage) -> None:
    """What Ben saw of T08, in every other way that there is."""
    for name in ("structures", "pick:T08", "more", "offer:people", "saw:ben", "close"):
        stage.tap(name)
    for name in ("way:status_first", "status:bleached", "1.1.1", "1.1.2", "1.2.5", "status:fading", "1.3.3", "way:place_first"):
        stage.tap(name)
    for name in ("1.4.4", "status:dead"):
        stage.tap(name)
    assert "5 marked" in texts(stage)
    stage.tap("undo")
    assert "4 marked" in texts(stage)
    stage.tap("sign_off", after_s=10)
    for name in ("2.1.3", "more", "offer:move", "pick:tap", "2.1.1"):
        stage.tap(name)
    for name in ("2.2.1", "more", "offer:cut", "2.1.2", "put_down"):
        stage.tap(name)
    for name in ("2.3.3", "details", "topic:note", "option:write"):
        stage.tap(name)
    type_text(stage, "two polyps")
    assert "Note 2.3.3" in texts(stage), "the undo button names it"
    for name in ("back", "more", "offer:read_back"):
        stage.tap(name)
    assert "T08 / 2   Arm 1" in texts(stage)
    assert "nothing hangs here" in texts(stage), "the place that the moved one left"
    stage.tap("back")
    stage.tap("sign_off", after_s=10)
    for name in ("more", "offer:not_reached", f"option:{NOT_REACHED[1]}"):
        stage.tap(name)
    stage.tap("4.1.1")
    stage.tap("status:unseen")
    assert "1 unseen" in texts(stage)
    stage.tap("sign_off", after_s=10)
    for name in ("back", "back"):
        stage.tap(name)


def send_all(stage: Stage) -> int:
    """The big button; gives how many entries the receipt names."""
    stage.tap("sync")
    assert "entries are only on this tablet." in texts(stage)
    stage.tap("send")
    read_until(stage, "It is safe to switch off.")
    (line,) = [line for line in texts(stage).splitlines() if " sent, " in line and "photos" in line]
    return int(line.partition(" ")[0])


def of_tablets(office: Harbour) -> list[BaseEntry]:
    """All that the server holds of what tablets entered, in order."""
    offices = {writer: head for writer, head in office.record.heads().items() if writer.startswith("office")}
    lines, more = office.record.lines_after(offices, 10_000)
    assert not more
    return [read_entry(line) for line in lines]


def of_kind(entries: list[BaseEntry], kind: type[BaseEntry]) -> list[Any]:
    """Those of a kind that were not withdrawn."""
    gone = {entry.target for entry in entries if isinstance(entry, EntryWithdrawn)}
    return [entry for entry in entries if type(entry) is kind and entry.id not in gone]


def check_conditions(office: Harbour, entries: list[BaseEntry]) -> None:
    """Each coral's status, how it came about, who saw it and who typed it: as the slates say, and nothing besides."""
    seen = {one.subject.removeprefix("fragment:F-"): one for one in of_kind(entries, ConditionSeen)}
    wanted: dict[str, tuple[str, str, str | None]] = {
        f"T07-{position.path}": (TREE.get(position.path, "alive"), "ana", "ben") for position in DESIGNS["T07"].positions
    }
    tapped = {f"T07-{path}" for path in TREE}
    marked = {"1.1.1": "bleached", "1.1.2": "bleached", "1.2.5": "bleached", "1.3.3": "fading"}
    tapped |= {f"T08-{path}" for path in marked}
    for position in DESIGNS["T08"].positions:
        path = position.path
        if path[0] in "124" and path not in ("2.1.1", "2.1.2", "4.1.1"):
            wanted[f"T08-{path}"] = (marked.get(path, "alive"), "ben", None)
    (planted,) = of_kind(entries, FragmentPlanted)
    wanted[planted.subject] = ("alive", "ben", None)
    assert {name: (one.status, one.by, one.typed_by) for name, one in seen.items()} == wanted
    assert {name for name, one in seen.items() if one.basis == "tapped"} == tapped
    for name, (status, _, _) in wanted.items():
        subject = name if name.startswith("fragment:") else f"fragment:F-{name}"
        assert office.record.finding(SURVEY, subject).value("status") == status


def check_the_rest(office: Harbour, entries: list[BaseEntry]) -> None:
    """Coverage, the move, the cut, the note and the dive."""
    (dive,) = of_kind(entries, DiveLogged)
    assert (dive.place, dive.depth_cm, dive.people) == ("Reef", 610, ("ana", "ben"))
    assert dive.went_in is not None
    told = [one for one in entries if not isinstance(one, DiveLogged | EntryWithdrawn)]
    assert {one.visit for one in told} == {dive.subject.removeprefix("visit:")}
    signed = {one.subject: (one.alive, one.marked, one.unseen, one.by) for one in of_kind(entries, PageSignedOff)}
    of_the_tree = Counter(path[0] for path in TREE)
    assert signed == {f"page:T07/{level}": (20 - number, number, 0, "ana") for level, number in of_the_tree.items()} | {
        "page:T08/1": (16, 4, 0, "ben"),
        "page:T08/2": (19, 0, 0, "ben"),
        "page:T08/4": (19, 0, 1, "ben"),
    }
    (not_reached,) = of_kind(entries, PageNotReached)
    assert (not_reached.subject, not_reached.reason, not_reached.by) == ("page:T08/3", NOT_REACHED[1], "ben")
    assert office.record.finding(SURVEY, "page:T08/5").value("coverage") is None
    (moved,) = of_kind(entries, FragmentMoved)
    assert (moved.subject, moved.place) == ("fragment:F-T08-2.1.3", "T08/2.1.1")
    assert office.record.standing(moved.subject).value("place") == "T08/2.1.1"
    (planted,), (cut,) = of_kind(entries, FragmentPlanted), of_kind(entries, FragmentHarvested)
    new = office.record.standing(planted.subject)
    assert (new.value("place"), new.value("parent"), new.value("genet")) == ("T08/2.1.2", "F-T08-2.2.1", "G1")
    assert (cut.subject, cut.pieces) == ("fragment:F-T08-2.2.1", 1)
    (note,) = of_kind(entries, NoteMade)
    assert (note.subject, note.text) == ("fragment:F-T08-2.3.3", "two polyps")


def test_a_day_by_taps_alone_is_at_the_server_as_it_was_entered(tmp_path: Path) -> None:
    """From the first start to the receipt nothing but taps; then the server's record says what two divers saw, and no more."""
    made = nursery(("T07", "T08", "L1"), bare=frozenset(BARE))
    with harbour(tmp_path, made) as office, office.open() as url, on_a_tablet(tmp_path / "a.sqlite", Clock(0)) as stage:
        stage.paints = True
        get_in(stage, url, office.code())
        load_two(stage)
        come_aboard(stage)
        say_which_dive(stage)
        enter_the_tree(stage)
        enter_the_second(stage)
        sent = send_all(stage)
        entries = of_tablets(office)
        assert len(entries) == sent
        assert len({entry.writer for entry in entries}) == 1
        check_conditions(office, entries)
        check_the_rest(office, entries)
