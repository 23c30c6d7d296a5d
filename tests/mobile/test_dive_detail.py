"""Details of a coral: said only where wanted, each at once an entry, each one undo."""

from pathlib import Path
from typing import get_args

import pytest

from mobile.desk import Carry
from mobile.detail import DetailDesk
from mobile.detail_topics import TOPICS, VALUE_WORDS, Option
from mobile.dive_desk import DiveDesk
from mobile.upkeep import WORKS, UpkeepDesk
from shared_schema.entries import ConditionSeen, NoteMade, PhotoTaken, TagChecked
from shared_schema.facts import FACTS, Upkeep
from tests.mobile.nursery import SURVEY
from tests.mobile.test_dive_carry import free
from tests.mobile.test_dive_desk import comes, dive, elsewhere

JPEG = b"\xff\xd8\xff\xe0 a picture"


def option(key: str, value: object) -> Option:
    """An option of a topic."""
    return next(one for one in TOPICS[key].options if one.value == value)


def detail(desk: DiveDesk, *paths: str) -> DetailDesk:
    """Details of a place, or of an arm."""
    for path in paths:
        desk.touch_place(path)
    return DetailDesk(desk)


def value(desk: DiveDesk, fragment: str, fact: str) -> object:
    """What the disk holds."""
    finding = desk.store.finding(SURVEY, f"fragment:{fragment}")
    return None if finding is None else finding.value(fact)


@pytest.mark.parametrize("topic", [topic for topic in TOPICS.values() if topic.sort in ("one", "many")], ids=lambda one: one.key)
def test_every_choice_is_a_value_that_the_record_takes(topic: object) -> None:
    """No button leads to a refusal, and each shows as chosen afterwards."""
    assert isinstance(topic, type(TOPICS["tie"]))
    with dive() as desk:
        speaking = detail(desk, "1.1.1")
        for one in topic.options:
            speaking.choose(topic.key, one)
            assert one.key in speaking.look(topic.key).chosen
        if topic.sort == "many":
            assert value(desk, "F-T01-1", topic.key) == tuple(sorted(str(one.value) for one in topic.options))


@pytest.mark.parametrize("fact", ["bleaching", "predator", "signs", "overgrowth", "breakage", "tie", "tag_state"])
def test_every_value_of_the_record_can_be_chosen(fact: str) -> None:
    """What another program wrote has a word here too."""
    schema = FACTS[fact].kind_of_value
    several = get_args(get_args(get_args(schema)[0])[0]) if fact in ("signs", "overgrowth") else get_args(schema)
    assert {str(one) for one in several} == {known for name, known in VALUE_WORDS if name == fact}


def test_live_tissue_goes_from_0_to_100_by_5() -> None:
    """Twenty-one buttons, one tap each."""
    assert [one.value for one in TOPICS["live_tissue"].options] == list(range(0, 101, 5))


def test_a_second_tap_on_one_of_several_takes_it_away() -> None:
    """Signs are ticked on and off; without any, the record says that none was seen."""
    with dive() as desk:
        speaking = detail(desk, "1.1.1")
        for _ in range(2):
            speaking.choose("signs", option("signs", "band"))
        assert value(desk, "F-T01-1", "signs") == ()


def test_details_leave_the_status_as_it_was() -> None:
    """One entry states one fact: another fact of the same coral stands."""
    with dive() as desk:
        desk.touch_place("1.1.1")
        desk.pick_status("sick")
        DetailDesk(desk).choose("live_tissue", option("live_tissue", 60))
        assert (value(desk, "F-T01-1", "status"), value(desk, "F-T01-1", "live_tissue")) == ("sick", 60)
        desk.undo()
        assert (value(desk, "F-T01-1", "status"), value(desk, "F-T01-1", "live_tissue")) == ("sick", None)


def test_an_arm_is_spoken_of_as_one() -> None:
    """A fact holds for all of it by one action; what differs shows nothing; sizes and tags are asked of one alone."""
    with dive() as desk:
        desk.touch_place("1.1.1")
        DetailDesk(desk).choose("tie", option("tie", "loose"))
        desk.touch_arm(1)
        speaking = DetailDesk(desk)
        assert speaking.look("tie").chosen == frozenset()
        assert "size" not in {view.topic.key for view in speaking.topics}
        speaking.choose("tie", option("tie", "tight"))
        assert speaking.look("tie").chosen == {"tight"}
        assert [value(desk, f"F-T01-{number}", "tie") for number in (1, 2, 3)] == ["tight"] * 3
        desk.undo()
        assert [value(desk, f"F-T01-{number}", "tie") for number in (1, 2, 3)] == ["loose", None, None]


def test_a_size_is_kept_in_millimetres_and_nothing_typed_is_nothing_measured() -> None:
    """Each length is a fact of its own."""
    with dive() as desk:
        speaking = detail(desk, "1.1.1")
        speaking.measure("length_mm", "85")
        speaking.measure("tle_mm", "")
        assert dict(speaking.look("size").values) == {"length_mm": 85}


def test_a_tag_is_unreadable_missing_or_new() -> None:
    """A new one is what the coral goes by from now on."""
    with dive() as desk:
        speaking = detail(desk, "1.1.1")
        speaking.choose("tag", option("tag", "unreadable"))
        assert value(desk, "F-T01-1", "tag_state") == "unreadable"
        speaking.new_tag(" 002M-7 ")
        last = desk.store.entries_of(SURVEY, "fragment:F-T01-1")[-1]
        assert isinstance(last, TagChecked)
        assert (last.tag, last.tag_state) == ("002M-7", "readable")


def test_notes_and_photos_are_of_the_coral_and_keep_the_ring(tmp_path: Path) -> None:
    """They follow the coral when it moves; the place stays the last that was touched."""
    picture = tmp_path / "a.jpg"
    picture.write_bytes(JPEG)
    with dive() as desk:
        speaking = detail(desk, "1.1.1")
        speaking.note("a crab lives here")
        speaking.photo(picture)
        kinds = [type(entry) for entry in desk.store.entries_of(SURVEY, "fragment:F-T01-1")]
        assert kinds == [NoteMade, PhotoTaken]
        assert [spot.path for spot in desk.view.board.spots if spot.last_touched] == ["1.1.1"]


def test_an_empty_place_can_be_spoken_of() -> None:
    """What is overgrown or loose there is said of the position; there is nothing to measure."""
    with dive() as desk:
        free(desk, "T01/1.1.1")
        speaking = detail(desk, "1.1.1")
        assert {"size", "tag"} & {view.topic.key for view in speaking.topics} == set()
        speaking.choose("overgrowth", option("overgrowth", "sponge"))
        (entry,) = desk.store.entries_of(SURVEY, "position:T01/1.1.1")
        assert isinstance(entry, ConditionSeen)
        assert entry.overgrowth == ("sponge",)


def test_of_two_in_one_place_the_named_one_is_spoken_of() -> None:
    """The other one is left alone."""
    with dive() as desk:
        desk.take_up(Carry("move", "F-T01-1"))
        for _ in range(2):
            desk.touch_place("1.1.2")
        desk.touch_place("1.1.2")
        DetailDesk(desk, "F-T01-1").choose("tie", option("tie", "loose"))
        assert (value(desk, "F-T01-1", "tie"), value(desk, "F-T01-2", "tie")) == ("loose", None)


def test_who_said_what_shows_both_sides_of_a_question_first() -> None:
    """Each word in dispute stands with who and when; a closed one is not among them."""
    with dive() as desk:
        desk.touch_place("1.1.1")
        desk.pick_status("lost")
        theirs = elsewhere()
        theirs.write(ConditionSeen, "fragment:F-T01-1", SURVEY, status="alive", live_tissue=80)
        comes(desk, theirs)
        assert desk.view.board.spots[0].open
        voices = DetailDesk(desk).voices
        assert [(voice.fact, voice.value, voice.by, voice.open) for voice in voices[:2]] in (
            [("status", "alive", "cem", True), ("status", "lost", "ana", True)],
            [("status", "lost", "ana", True), ("status", "alive", "cem", True)],
        )
        assert [(voice.fact, voice.open) for voice in voices[2:]] == [("live_tissue", False)]


def test_upkeep_is_ticked_on_and_off_and_comes_back_by_undo() -> None:
    """A second tap takes one's own tick away; undoing that brings it back."""
    assert set(WORKS) == set(get_args(Upkeep))
    with dive() as desk:
        work = UpkeepDesk(desk, "T01")
        work.toggle("cleaned")
        work.toggle("float_checked")
        assert work.done == {"cleaned", "float_checked"}
        work.toggle("cleaned")
        assert work.done == {"float_checked"}
        desk.undo()
        assert work.done == {"cleaned", "float_checked"}
        assert UpkeepDesk(desk, "T01/1").done == frozenset()


def test_upkeep_is_of_the_place_the_page_or_the_structure() -> None:
    """Whatever is selected can be chosen as its scope."""
    with dive() as desk:
        assert UpkeepDesk(desk, "T01").scopes == ("T01", "T01/1")
        desk.touch_place("1.1.2")
        assert UpkeepDesk(desk, "T01").scopes == ("T01", "T01/1", "T01/1.1.2")
        UpkeepDesk(desk, "T01/1.1.2").toggle("tie_replaced")
        assert UpkeepDesk(desk, "T01/1.1.2").done == {"tie_replaced"}
