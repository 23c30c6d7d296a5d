"""What a crew does: which entries it becomes, what they replace, and how it is taken back."""

from pathlib import Path

import pytest

from mobile.digest import digest_of
from mobile.store import Store
from shared_schema.author import Author
from shared_schema.entries import (
    ConditionSeen,
    FragmentMoved,
    FragmentPlanted,
    PhotoTaken,
    RulingGiven,
    StructureHung,
    write_entry,
)
from shared_schema.errors import NotAllowed, NothingSuch, SchemaError
from tests.mobile.nursery import BEFORE, SURVEY, Ticking, found_in, lines_of, office_author, recorder, small_nursery, tablet

JPEG = b"\xff\xd8\xff\xe0 a picture"


def _elsewhere(writer: str, by: str) -> Author:
    """Somebody with another tablet."""
    return Author(writer, 0, by, Ticking())


def test_a_tap_says_what_was_seen_where_by_whom_and_who_typed_it(tmp_path: Path) -> None:
    """Attributable, and on disk: the entry is found by opening the file again."""
    path = tmp_path / "t.sqlite"
    with tablet(path) as store:
        recorder(store, "ana", "ben").mark("T01/1.1.2", status="bleached", live_tissue=40)
    with Store(path) as store:
        (entry,) = store.entries_of(SURVEY, "fragment:F-T01-2")
        assert isinstance(entry, ConditionSeen)
        assert (entry.by, entry.typed_by, entry.seen_at, entry.basis) == ("ana", "ben", "T01/1.1.2", "tapped")
        assert (entry.status, entry.live_tissue) == ("bleached", 40)
        assert store.settings.get("touched") == "T01/1.1.2"


def test_a_fragment_that_is_missed_was_not_seen_there(tmp_path: Path) -> None:
    """Lost is not a sighting."""
    with tablet(tmp_path / "t.sqlite") as store:
        (entry,) = recorder(store).mark("T01/1.1.2", status="lost").entries
        assert isinstance(entry, ConditionSeen)
        assert entry.seen_at is None


def test_a_second_look_replaces_what_its_author_has_in_front_of_them(tmp_path: Path) -> None:
    """Who saw the other's word and says otherwise updates it: no disagreement."""
    with tablet(tmp_path / "t.sqlite") as store:
        first = recorder(store, "ana").mark("T01/1.1.1", status="bleached", live_tissue=40).entries[0]
        tissue = recorder(store, "ana").mark("T01/1.1.1", breakage="tips").entries[0]
        second = recorder(store, "ben").mark("T01/1.1.1", status="alive").entries[0]
        assert tissue.replaces == (first.id,)  # of its place: both say where it was seen
        assert second.replaces == (first.id, tissue.id)
        finding = found_in(store, "fragment:F-T01-1")
        assert finding.open == ()
        assert (finding.value("status"), finding.value("live_tissue"), finding.value("breakage")) == ("alive", 40, "tips")


def test_a_word_on_a_disagreement_names_every_voice_in_it(tmp_path: Path) -> None:
    """A third diver who sees both adds a voice; the question stays open until it is ruled on."""
    other = _elsewhere("w3w3w3", "cem")
    theirs = other.write(ConditionSeen, "fragment:F-T01-1", SURVEY, status="lost")
    with tablet(tmp_path / "t.sqlite") as store:
        mine = recorder(store, "ana").mark("T01/1.1.1", status="alive").entries[0]
        store.take([write_entry(theirs)])
        assert found_in(store, "fragment:F-T01-1").open == ("status",)
        third = recorder(store, "ben").mark("T01/1.1.1", status="sick").entries[0]
        assert third.replaces == tuple(sorted((mine.id, theirs.id)))
        assert found_in(store, "fragment:F-T01-1").slots["status"].disputed == tuple(sorted((mine.id, theirs.id)))
        office = office_author(len(small_nursery()))
        office.write(
            RulingGiven,
            "fragment:F-T01-1",
            SURVEY,
            fact="status",
            value="sick",
            replaces=(mine.id, theirs.id, third.id),
        )
        store.take(lines_of(office.written))
        assert found_in(store, "fragment:F-T01-1").open == ()


def test_a_voice_that_somebody_updated_is_still_answered_while_it_disagrees(tmp_path: Path) -> None:
    """Ana lost it, Ben saw that and found it, Cem knew of neither: whoever speaks now has seen Ana's word too."""
    with tablet(tmp_path / "t.sqlite") as store:
        lost = recorder(store, "ana").mark("T01/1.1.1", status="lost").entries[0]
        found = recorder(store, "ben").mark("T01/1.1.1", status="alive").entries[0]
        theirs = _elsewhere("w3w3w3", "cem").write(ConditionSeen, "fragment:F-T01-1", SURVEY, status="alive")
        store.take([write_entry(theirs)])
        slot = found_in(store, "fragment:F-T01-1").slots["status"]
        assert lost.id in slot.disputed
        assert lost.id not in slot.heads
        last = recorder(store, "dan").mark("T01/1.1.1", status="alive").entries[0]
        assert last.replaces == tuple(sorted((lost.id, found.id, theirs.id)))


def test_nothing_is_written_where_nobody_looked(tmp_path: Path) -> None:
    """One tap is one entry: the other ninety-nine positions stay unspoken of."""
    with tablet(tmp_path / "t.sqlite") as store:
        recorder(store).mark("T01/1.1.1", status="alive")
        recorder(store).not_reached("T01/2", "current")
        chart = store.on_structure("T01")
        assert [one.fragment for one in chart.hung if one.finding(SURVEY)] == ["F-T01-1"]
        assert chart.coverage("T01/2", SURVEY) == [{"reason": "current"}]


def test_signing_off_writes_a_row_for_each_that_nobody_marked_and_honest_counts(tmp_path: Path) -> None:
    """The rows say that they came by sign-off; what was marked, and what was not looked at, gets none."""
    with tablet(tmp_path / "t.sqlite") as store:
        crew = recorder(store)
        crew.mark("T01/1.1.1", status="bleached")
        crew.mark("T01/1.1.2", status="alive")
        done = crew.sign_off("T01/1", unseen=["T01/1.2.3"])
        rows = [entry for entry in done.entries if isinstance(entry, ConditionSeen)]
        assert [(row.subject, row.status, row.basis) for row in rows] == [
            (f"fragment:F-T01-{number}", "alive", "signed_off") for number in (3, 4, 5)
        ]
        assert store.on_structure("T01").coverage("T01/1", SURVEY) == [{"alive": 4, "marked": 1, "unseen": 1}]
        assert store.finding(SURVEY, "fragment:F-T01-6") is None
        assert store.on_structure("T01").coverage("T01/2", SURVEY) == []


def test_signing_off_never_brings_the_dead_or_the_lost_back_to_life(tmp_path: Path) -> None:
    """Nobody who signs a page means a coral that hung dead or was missing when last looked at."""
    statuses = {"F-T01-1": "dead", "F-T01-2": "lost", "F-T01-3": "bleached"}
    with tablet(tmp_path / "t.sqlite", statuses=statuses) as store:
        done = recorder(store).sign_off("T01/1")
        said = {entry.subject: entry.status for entry in done.entries if isinstance(entry, ConditionSeen)}
        assert said["fragment:F-T01-1"] == "dead"
        assert "fragment:F-T01-2" not in said
        assert said["fragment:F-T01-3"] == "alive"
        assert store.on_structure("T01").coverage("T01/1", SURVEY) == [{"alive": 4, "marked": 1, "unseen": 0}]


def test_a_page_signed_again_by_the_same_diver_is_vouched_for_once(tmp_path: Path) -> None:
    """A second signature replaces the first; another diver's stands beside it."""
    with tablet(tmp_path / "t.sqlite") as store:
        recorder(store, "ana").sign_off("T01/1")
        recorder(store, "ana").mark("T01/1.1.1", status="sick")
        recorder(store, "ana").sign_off("T01/1")
        recorder(store, "ben").sign_off("T01/1")
        assert store.on_structure("T01").coverage("T01/1", SURVEY) == [{"alive": 5, "marked": 1, "unseen": 0}] * 2


def test_a_whole_arm_is_marked_as_one_action_without_the_dead_and_the_lost(tmp_path: Path) -> None:
    """From some forty exceptions on this is the fastest way; one undo takes it back."""
    with tablet(tmp_path / "t.sqlite", statuses={"F-T01-1": "dead", "F-T01-2": "lost"}) as store:
        done = recorder(store).mark_arm("T01/1.1", status="fading")
        assert [entry.subject for entry in done.entries] == ["fragment:F-T01-3"]
        storm = recorder(store).mark_arm("T01/1.1", status="lost")
        assert [entry.subject for entry in storm.entries] == ["fragment:F-T01-1", "fragment:F-T01-3"]
        with pytest.raises(NothingSuch, match=r"T01/1\.7"):
            recorder(store).mark_arm("T01/1.7", status="fading")


def test_several_are_marked_as_one_action_or_not_at_all(tmp_path: Path) -> None:
    """One place that makes no sense: nothing of the action is kept."""
    with tablet(tmp_path / "t.sqlite") as store:
        before = digest_of(store)
        with pytest.raises(SchemaError, match=r"T01/x.*no address"):
            recorder(store).mark_many(["T01/1.1.1", "T01/x"], status="alive")
        assert digest_of(store) == before
        done = recorder(store).mark_many(["T01/1.1.1", "T01/1.2.1"], status="alive")
        assert len(done.entries) == 2
        assert recorder(store).mark_many([], status="alive").entries == ()


def test_a_cutting_is_of_its_mothers_genet_and_has_a_name_of_its_own(tmp_path: Path) -> None:
    """Parent and genet come from the mother's standing; the name is one that no other tablet can give."""
    with tablet(tmp_path / "a.sqlite") as store, tablet(tmp_path / "b.sqlite", "w3w3w3") as other:
        crew = recorder(store)
        crew.move("T01/2.2.3", "removed")
        done = crew.plant("T01/2.2.3", "T01/1.1.1", length_mm=40)
        (planted,) = done.entries
        assert isinstance(planted, FragmentPlanted)
        assert (planted.parent, planted.genet, planted.length_mm) == ("F-T01-1", "G1", 40)
        assert done.fragment == planted.id
        assert recorder(other).plant("T01/2.2.3", "T01/1.1.1").fragment != done.fragment
        assert crew.plant("T02/1.1.1", "T01/1.1.1").fragment != done.fragment


def test_replanting_takes_the_old_one_out_and_hangs_a_new_one(tmp_path: Path) -> None:
    """One action: no moment in which two hang there, and one undo brings the old one back."""
    with tablet(tmp_path / "t.sqlite", statuses={"F-T01-1": "lost"}) as store:
        done = recorder(store).replant("T01/1.1.1", "T01/1.1.2", tag="002M-7")
        assert [one.fragment for one in store.at("T01/1.1.1")] == [done.fragment]
        assert store.fragment("F-T01-1").place == "removed"
        recorder(store).undo()
        assert [one.fragment for one in store.at("T01/1.1.1")] == ["F-T01-1"]


def test_where_two_hang_in_one_place_the_crew_says_which_is_meant(tmp_path: Path) -> None:
    """Nothing is guessed: an address alone is refused, with both names."""
    office = office_author(len(small_nursery()))
    office.write(FragmentMoved, "fragment:F-T01-2", "2026-10", place="T01/1.1.1")
    with tablet(tmp_path / "t.sqlite", statuses={}) as store:
        store.take(lines_of(office.written))
        with pytest.raises(NothingSuch, match="F-T01-1 and F-T01-2"):
            recorder(store).mark("T01/1.1.1", status="alive")
        done = recorder(store).mark("T01/1.1.1", fragment="F-T01-2", status="alive")
        assert done.fragment == "F-T01-2"


def test_an_empty_position_is_spoken_of_itself_and_holds_nothing_to_measure(tmp_path: Path) -> None:
    """Something was seen where nobody planted: it is said of the position."""
    with tablet(tmp_path / "t.sqlite") as store:
        recorder(store).move("T01/1.1.1", "holding")
        (entry,) = recorder(store).mark("T01/1.1.1", status="alive").entries
        assert entry.subject == "position:T01/1.1.1"
        with pytest.raises(NothingSuch, match="nothing hangs"):
            recorder(store).measure("T01/1.1.1", length_mm=50)


def test_a_slip_of_the_finger_calls_no_coral_into_being(tmp_path: Path) -> None:
    """A name that this tablet does not know is refused, unless it is said outright that it is a fragment's."""
    with tablet(tmp_path / "t.sqlite") as store:
        crew = recorder(store)
        with pytest.raises(NothingSuch, match="on this tablet"):
            crew.mark("F-T01-99", status="alive")
        with pytest.raises(NothingSuch, match="on this tablet"):
            crew.note("T99", "who is this?")
        done = crew.mark("fragment:F-T01-99", status="alive")
        assert done.fragment == "F-T01-99"
        assert crew.found_on_ground("F-T07-1").fragment == "F-T07-1"


def test_what_is_seen_on_a_dive_says_so(tmp_path: Path) -> None:
    """Entries after the dive was logged carry its name; a better word about the same dive replaces the first."""
    with tablet(tmp_path / "t.sqlite") as store:
        crew = recorder(store)
        dive = crew.log_dive(["ana"])
        assert crew.visit == dive.entries[0].id == store.settings.get("visit")
        assert crew.mark("T01/1.1.1", status="alive").entries[0].visit == crew.visit
        better = crew.log_dive(["ana", "ben"], visit=crew.visit)
        assert better.entries[0].replaces == (dive.entries[0].id,)
        assert better.entries[0].visit is None


def test_a_photo_is_whole_on_disk_before_anything_speaks_of_it(tmp_path: Path) -> None:
    """Named by its SHA-256 beside the database, and queued for the server."""
    with tablet(tmp_path / "t.sqlite") as store:
        (entry,) = recorder(store).photo("T01/1.1.1", JPEG).entries
        assert isinstance(entry, PhotoTaken)
        assert store.photos.path(entry.sha256).read_bytes() == JPEG
        assert store.photos.waiting() == ((entry.sha256, len(JPEG)),)
        with pytest.raises(SchemaError, match="no photo"):
            recorder(store).photo("T01/1.1.1", b"GIF89a")


def test_what_makes_no_sense_is_refused_by_name_and_value(tmp_path: Path) -> None:
    """The message says which field; no number is used up."""
    with tablet(tmp_path / "t.sqlite") as store:
        crew = recorder(store)
        with pytest.raises(SchemaError, match="status = 'blue'"):
            crew.mark("T01/1.1.1", status="blue")
        with pytest.raises(SchemaError, match="live_tissue = 140"):
            crew.mark("T01/1.1.1", live_tissue=140)
        assert store.last("k7f3qz") == 0
        assert store.undo.all == ()


def test_a_tablet_that_is_not_enrolled_cannot_record(tmp_path: Path) -> None:
    """Entries without a writer of their own could never be told apart."""
    with Store(tmp_path / "t.sqlite") as store, pytest.raises(NotAllowed, match="enrol"):
        recorder(store).note("structure:T01", "hello")


def test_an_arm_of_a_structure_without_a_design_has_to_be_marked_one_by_one(tmp_path: Path) -> None:
    """Nothing is guessed from the look of an address."""
    office = office_author(writer="officezz")
    office.write(StructureHung, "structure:T09", design={"design": "line", "unit": "m", "length": "4", "spacing": "1"})
    with tablet(tmp_path / "t.sqlite") as store:
        store.take(lines_of(office.written))
        assert recorder(store).mark_arm("T09/1.1", status="alive").entries == ()
        with pytest.raises(NothingSuch, match="T77"):
            recorder(store).mark_arm("T77/1.1", status="alive")
        assert BEFORE < SURVEY
