"""What a dive comes to: read back, summed up, questioned; and what was found on the sand."""

import subprocess
from datetime import datetime, timedelta
from typing import Any

import pytest

from mobile.dive_desk import DiveDesk
from mobile.dive_summary import spoken_structures, sum_up
from mobile.listing import list_structure
from mobile.missing import find_coral, lost_from
from mobile.offers import offers
from mobile.read_back import read_back
from mobile.recorder import Recorder
from mobile.sites import known_sites, remember_site, site_name
from mobile.speech import Speaker
from mobile.structure_list import structure_row
from shared_schema.entries import ConditionSeen, NoteMade
from shared_schema.errors import SchemaError
from shared_schema.ids import tag_code
from shared_schema.ready_words import EXPLANATIONS, NOT_REACHED, NOTES
from tests.mobile.nursery import NOW, SURVEY
from tests.mobile.test_dive_carry import free
from tests.mobile.test_dive_desk import comes, dive, elsewhere


def test_a_page_is_read_back_arm_by_arm() -> None:
    """Every place of the page is read once, in order, with what the record says of it and nothing else."""
    with dive() as desk:
        free(desk, "T01/1.2.3")
        for path, status in (("1.1.1", "bleached"), ("1.1.2", "unseen")):
            desk.touch_place(path)
            desk.pick_status(status)
        desk.record(lambda recorder: recorder.mark("T01/1.1.1", live_tissue=60))
        cards = read_back(desk)
        assert [(card.kind, card.number, [line.number for line in card.lines]) for card in cards] == [
            ("arm", 1, [1, 2, 3]),
            ("arm", 2, [1, 2, 3]),
        ]
        first, second, third = cards[0].lines
        assert (first.status, first.facts) == ("bleached", (("live_tissue", 60),))
        assert (second.status, second.unseen) == (None, True)
        assert (third.status, third.unseen, third.empty) == (None, False, False)
        assert cards[1].lines[2].empty


class Said:
    """Stands for a program that speaks."""

    def __init__(self) -> None:
        self.started: list[tuple[list[str], bytes]] = []
        self.stopped = 0
        self.stdin: Any = self
        self._text = b""

    def __call__(self, arguments: list[str], **_how: Any) -> "subprocess.Popen[bytes]":
        """Start."""
        self.started.append((arguments, b""))
        return self  # type: ignore[return-value]

    def write(self, text: bytes) -> None:
        """Take the text."""
        self.started[-1] = (self.started[-1][0], text)

    def close(self) -> None:
        """No more text."""

    def poll(self) -> None:
        """Still speaking."""

    def terminate(self) -> None:
        """Stop."""
        self.stopped += 1

    def wait(self, timeout: float) -> None:
        """It stopped."""


def test_a_voice_speaks_the_crews_language_and_stops_before_the_next_words() -> None:
    """The program that is found is given the text; going on cuts it short."""
    program = Said()
    speaker = Speaker(lambda name: "/bin/espeak-ng" if name == "espeak-ng" else None, program)
    assert speaker.can
    speaker.say("uno: vivo", "es")
    speaker.say("dois: morto", "pt_BR")
    speaker.hush()
    assert program.started == [
        (["/bin/espeak-ng", "-v", "es", "-s", "140", "--stdin"], b"uno: vivo"),
        (["/bin/espeak-ng", "-v", "pt-br", "-s", "140", "--stdin"], b"dois: morto"),
    ]
    assert program.stopped == 2


def test_without_a_voice_nothing_happens() -> None:
    """Reading goes on in text; so it does where the program does not start."""
    silent = Speaker(lambda _name: None)
    assert not silent.can
    silent.say("one: alive", "en")

    def broken(*_arguments: Any, **_how: Any) -> "subprocess.Popen[bytes]":
        raise OSError("no sound card")

    hoarse = Speaker(lambda name: f"/bin/{name}", broken)
    hoarse.say("one: alive", "en")
    assert not hoarse.can


def test_something_unlikely_waits_for_a_note_and_never_blocks() -> None:
    """A coral that was lost and lives now: the page is signed, the doubt stays until a note, and undo brings it back."""
    with dive({"F-T01-1": "lost"}) as desk:
        desk.touch_place("1.1.1")
        desk.pick_status("alive")
        desk.sign_off()
        assert desk.page_address == "T01/2"
        assert desk.view.doubts == "T01/1"
        (doubt,) = [one for one in desk.recorder.doubts.on("T01/1") if one.sort == "lost_then_living"]
        assert doubt.where == "T01/1.1.1"
        desk.record(lambda recorder: recorder.explain("T01/1", EXPLANATIONS[1]))
        assert desk.recorder.doubts.on("T01/1") == ()
        note = desk.store.entries_of(SURVEY, "page:T01/1")[-1]
        assert isinstance(note, NoteMade)
        assert (note.text, note.about) == (EXPLANATIONS[1], desk.store.entries_of(SURVEY, "page:T01/1")[0].id)
        desk.undo()
        assert doubt in desk.recorder.doubts.on("T01/1")
        desk.undo()
        assert desk.recorder.doubts.on("T01/1") == ()


class Still:
    """A clock that a test moves."""

    def __init__(self) -> None:
        self.now = NOW

    def __call__(self) -> datetime:
        """The time now."""
        return self.now


def test_a_page_that_is_signed_in_seconds_is_doubted_and_one_that_was_read_is_not() -> None:
    """Five seconds are too few to look at a page; a page that was open for longer asks nothing."""
    with dive() as ticking:
        clock = Still()
        desk = DiveDesk(Recorder(ticking.store, SURVEY, "ana", clock), "T01")
        clock.now += timedelta(seconds=4)
        desk.sign_off()
        assert [one.sort for one in desk.recorder.doubts.on("T01/1")] == ["signed_in_seconds"]
        clock.now += timedelta(seconds=5)
        desk.sign_off()
        assert desk.recorder.doubts.on("T01/2") == ()
        assert desk.view.doubts == ""


def test_a_summary_has_the_counts_that_were_signed_and_what_still_asks() -> None:
    """Each page with its state; doubts without a note; places in dispute."""
    with dive({"F-T01-2": "dead", "F-T01-3": "lost"}) as desk:
        for path, status in (("1.1.1", "lost"), ("1.1.3", "alive")):
            desk.touch_place(path)
            desk.pick_status(status)
        desk.sign_off()
        theirs = elsewhere()
        theirs.write(ConditionSeen, "fragment:F-T01-1", SURVEY, status="alive")
        comes(desk, theirs)
        desk.not_reached("T01/2", NOT_REACHED[0])
        summary = sum_up(desk.store, SURVEY, ["T01"])
        first, second = summary.pages
        assert (first.state, first.alive, first.marked, first.unseen, first.by) == ("signed_off", 4, 2, 0, ("ana",))
        assert (second.state, second.alive, second.by) == ("not_reached", 0, ("ana",))
        assert summary.finished
        assert [page for page, _ in summary.doubts] == ["T01/1"]
        assert summary.questions == ("T01/1.1.1",)
        assert spoken_structures(desk.store, SURVEY, ("T01", "T02")) == ("T01",)


def test_a_structures_row_says_how_far_it_is() -> None:
    """Pages that are finished are counted, and pages that ask."""
    with dive() as desk:
        desk.sign_off()
        row = structure_row(desk.store, "T01", SURVEY)
        assert (row.name, row.finished, len(row.marks), row.asking, row.ready) == ("Tree T01", 1, 2, 0, True)
        assert not structure_row(desk.store, "T99", SURVEY).ready


def test_what_is_offered_depends_on_what_hangs_there() -> None:
    """A coral is moved, cut, replaced, brought to the reef; an empty place gets a new one; without a place neither."""
    with dive() as desk:
        free(desk, "T01/1.1.1")
        desk.open_page("2")
        can = {offer.key: offer.can for row in offers(desk) for offer in row}
        assert not any(can[key] for key in ("move", "plant", "cut", "outplant"))
        desk.touch_place("2.1.1")
        assert [offer.key for offer in offers(desk)[0] if offer.can] == ["move", "replant", "cut", "outplant"]
        desk.open_page("1")
        desk.touch_place("1.1.1")
        assert [offer.key for offer in offers(desk)[0] if offer.can] == ["plant"]


def test_what_was_lost_is_offered_when_something_is_found() -> None:
    """Those that this or an earlier dive did not find; a coral that was found and hung again is none of them."""
    with dive({"F-T01-1": "lost"}) as desk:
        desk.touch_place("1.1.2")
        desk.pick_status("lost")
        assert [hung.fragment for hung in lost_from(desk.store, "T01")] == ["F-T01-1", "F-T01-2"]
        desk.record(lambda recorder: recorder.found_on_ground("F-T01-1", status="fading"))
        desk.record(lambda recorder: recorder.move("fragment:F-T01-1", "T01/1.1.1"))
        assert [hung.fragment for hung in lost_from(desk.store, "T01")] == ["F-T01-2"]
        assert desk.view.board.spots[0].status == "fading"


def test_a_coral_is_found_by_its_tag_or_its_name() -> None:
    """As typed with a wet finger: small letters, look-alikes, no dash."""
    with dive() as desk:
        desk.record(lambda recorder: recorder.check_tag("T01/1.1.3", "readable", tag_code(84)))
        desk.record(lambda recorder: recorder.check_tag("T01/1.1.2", "readable", "blue 12"))
        for typed in ("002M-0", "oo2mo", " 002m-0 "):
            assert [hung.fragment for hung in find_coral(desk.store, typed)] == ["F-T01-3"], typed
        assert [hung.fragment for hung in find_coral(desk.store, "blue 12")] == ["F-T01-2"]
        assert [hung.fragment for hung in find_coral(desk.store, "F-T02-4")] == ["F-T02-4"]
        for typed in ("", "002M", "002M-7", "F-T02"):
            assert find_coral(desk.store, typed) == (), typed


def test_sites_are_offered_with_the_last_one_first() -> None:
    """A name is made to fit; one without a letter or digit is refused."""
    with dive() as desk:
        for typed in ("North reef", "South reef", "North reef"):
            remember_site(desk.store, site_name(typed))
        assert known_sites(desk.store) == ("North-reef", "South-reef")
        desk.record(lambda recorder: recorder.outplant("T01/1.1.1", site_name("  Ünder the arch ")))
        assert desk.store.fragment("F-T01-1").place == "site:Ünder-the-arch"
        with pytest.raises(SchemaError, match="no name"):
            site_name(" . ")


def test_words_that_are_ready_are_kept_in_english() -> None:
    """Whoever reads the record reads one language, whatever the crew tapped."""
    with dive() as desk:
        desk.not_reached("T01/1", NOT_REACHED[1])
        text = "\n".join(list_structure(desk.store, "T01", SURVEY))
        assert NOT_REACHED[1] in text
        assert not set(NOTES) & set(EXPLANATIONS)
