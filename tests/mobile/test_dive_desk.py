"""The page desk of a dive: the same taps as on the practice desk do the same, and everything is on disk."""

import tempfile
from collections.abc import Iterator
from contextlib import ExitStack, contextmanager
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from mobile.desk import UNSEEN, Counts, PageDesk, PageView, PracticeDesk
from mobile.dive_desk import DiveDesk
from mobile.open_structure import OpenStructure
from mobile.store import Store
from shared_schema.author import Author
from shared_schema.entries import ConditionSeen, FragmentPlanted, PageSignedOff, write_entry
from shared_schema.errors import NothingSuch
from tests.mobile.nursery import SURVEY, TREE, Ticking, office_author, recorder, small_nursery, tablet

PATHS = [position.path for position in TREE.positions]
DEEDS = st.lists(
    st.one_of(
        st.tuples(st.just("touch_place"), st.sampled_from(PATHS)),
        st.tuples(st.just("touch_arm"), st.integers(1, 2)),
        st.tuples(st.just("pick_status"), st.sampled_from(["alive", "bleached", "dead", UNSEEN])),
        st.tuples(st.just("choose_way"), st.sampled_from(["place_first", "status_first"])),
        st.tuples(st.just("open_page"), st.sampled_from(["1", "2"])),
        st.tuples(st.just("sign_off")),
        st.tuples(st.just("undo")),
        st.tuples(st.just("restart")),
    ),
    max_size=25,
)


@contextmanager
def dive(statuses: dict[str, str] | None = None, page: str = "") -> Iterator[DiveDesk]:
    """A desk on a tree of two pages of six, on a tablet of its own."""
    with tempfile.TemporaryDirectory() as folder, tablet(Path(folder) / "t.sqlite", statuses=statuses) as store:
        yield DiveDesk(recorder(store), "T01", page)


def restarted(desk: DiveDesk) -> DiveDesk:
    """The desk after the program was ended and started again on the page that was open."""
    page = desk.store.settings.get("page")
    assert isinstance(page, str)
    structure, _, path = page.partition("/")
    return DiveDesk(recorder(Store(desk.store.path)), structure, path)


def do(desk: PageDesk, deed: tuple[str, ...]) -> None:
    """One tap. A board shows one page: places of another one cannot be tapped."""
    name, *value = deed
    if name != "touch_place" or value[0] in desk.view.board.by_path:
        getattr(desk, name)(*value)


def shown(view: PageView) -> dict[str, object]:
    """All that the screen shows of it, but for the ring, which the record moves on by arms and pages too."""
    spots = [(spot.path, spot.status, spot.unseen, spot.selected, spot.empty) for spot in view.board.spots]
    pages = [(page.path, page.state) for page in view.overview.pages]
    return {
        "spots": spots,
        "pages": pages,
        "counts": view.counts,
        "way": view.way,
        "chosen": view.chosen,
        "signed": view.signed,
        "done": view.done,
    }


def statuses(desk: DiveDesk) -> list[str | None]:
    """What is shown of each place of the page."""
    return [UNSEEN if spot.unseen else spot.status for spot in desk.view.board.spots]


def comes(desk: DiveDesk, author: Author) -> None:
    """What somebody else wrote comes by a sync, over another connection."""
    with Store(desk.store.path) as other:
        other.take([write_entry(entry) for entry in author.written])


def elsewhere(writer: str = "w3w3w3", by: str = "cem") -> Author:
    """Somebody with another tablet."""
    return Author(writer, 0, by, Ticking())


@settings(max_examples=60, deadline=None)
@given(DEEDS)
def test_the_same_taps_show_the_same_as_in_practice(deeds: list[tuple[str, ...]]) -> None:
    """Whoever learned it in training meets nothing else on the dive, tap by tap, and after a restart between any two."""
    practice = PracticeDesk("T01", TREE)
    with dive() as first, ExitStack() as open_files:
        desk = first
        for deed in deeds:
            if deed == ("restart",):
                desk = restarted(desk)
                open_files.enter_context(desk.store)
                practice.choose_way(practice.view.way)  # what is selected and in hand is gone
            else:
                do(practice, deed)
                do(desk, deed)
            assert shown(desk.view) == shown(practice.view), deed
            assert desk.open.chart == desk.store.on_structure("T01"), "what is shown is what the disk holds"
            assert desk.open.marks == OpenStructure(desk.store, SURVEY, "T01").marks


def test_nothing_is_said_before_somebody_taps() -> None:
    """A page that is opened says nothing of any place, and counts as what signing would vouch for."""
    with dive({"F-T01-1": "lost", "F-T01-2": "dead"}) as desk:
        assert statuses(desk) == [None] * 6
        assert desk.view.counts == Counts(alive=4, marked=1, unseen=0)
        assert [spot.faint for spot in desk.view.board.spots][:3] == ["lost", "dead", None]
        assert desk.view.board.spots[0].empty


def test_the_last_place_is_ringed_after_a_restart() -> None:
    """The same page opens again, with the place that was touched last, even where it was only selected."""
    with dive(page="2") as desk:
        desk.touch_place("2.1.2")
        again = restarted(desk)
        with again.store:
            assert again.page_address == "T01/2"
            assert [spot.path for spot in again.view.board.spots if spot.last_touched] == ["2.1.2"]


def test_leaving_a_place_unseen_takes_back_ones_own_word_only() -> None:
    """What Ana said is withdrawn with her signature; what Cem saw there stands, and counts."""
    with dive() as desk:
        theirs = elsewhere()
        theirs.write(ConditionSeen, "fragment:F-T01-1", SURVEY, status="sick")
        comes(desk, theirs)
        desk.touch_place("1.1.2")
        desk.pick_status("dead")
        desk.sign_off()
        desk.open_page("1")
        for path in ("1.1.1", "1.1.2"):
            desk.touch_place(path)
            desk.pick_status(UNSEEN)
        assert statuses(desk)[:2] == ["sick", UNSEEN]
        assert not desk.view.signed
        assert desk.view.counts == Counts(alive=4, marked=1, unseen=1)
        desk.undo()
        desk.undo()
        assert statuses(desk)[:2] == ["sick", "dead"]
        assert desk.view.signed


def test_a_place_left_unseen_gets_no_row_by_signing() -> None:
    """The page says `1 unseen`, and nothing of that coral."""
    with dive() as desk:
        desk.touch_place("1.1.1")
        desk.pick_status(UNSEEN)
        desk.sign_off()
        (signed,) = desk.store.logged(SURVEY, "page:T01/1", "coverage")
        assert isinstance(signed, PageSignedOff)
        assert (signed.alive, signed.marked, signed.unseen) == (5, 0, 1)
        assert desk.store.finding(SURVEY, "fragment:F-T01-1") is None


def test_nobody_vouches_for_what_has_no_place_on_the_board() -> None:
    """A coral that the record hangs where the design has no hole cannot be shown: it counts as unseen."""
    with dive() as desk:
        office = office_author(last=len(small_nursery()))
        office.write(FragmentPlanted, "fragment:F-odd", "2026-01", place="T01/1.1.9")
        comes(desk, office)
        assert desk.view.counts == Counts(alive=6, marked=0, unseen=1)
        desk.sign_off()
        assert desk.store.finding(SURVEY, "fragment:F-odd") is None


def test_what_a_sync_brings_shows_at_once_and_asks() -> None:
    """Cem found alive what Ana lost: the place shows the worse of the two, with the corner that says so."""
    with dive() as desk:
        desk.touch_place("1.1.1")
        desk.pick_status("lost")
        theirs = elsewhere()
        theirs.write(ConditionSeen, "fragment:F-T01-1", SURVEY, status="alive", seen_at="T01/1.1.1")
        comes(desk, theirs)
        view = desk.view
        assert (view.board.spots[0].status, view.board.spots[0].open) == ("lost", True)
        assert view.overview.pages[0].open


def test_another_tablets_word_leaves_a_signature_standing() -> None:
    """Whoever signed spoke of what they saw: somebody else's later entry is theirs to vouch for."""
    with dive() as desk:
        desk.sign_off()
        theirs = elsewhere()
        theirs.write(ConditionSeen, "fragment:F-T01-1", SURVEY, status="sick")
        comes(desk, theirs)
        assert desk.view.overview.pages[0].state == "signed_off"


def test_where_two_hang_the_one_that_is_meant_is_asked_for() -> None:
    """A status waits until somebody says which; marking the other or none leaves it as it was."""
    with dive() as desk:
        office = office_author(last=len(small_nursery()))
        office.write(FragmentPlanted, "fragment:F-two", "2026-01", place="T01/1.1.1")
        comes(desk, office)
        assert desk.view.board.spots[0].open
        desk.touch_place("1.1.1")
        desk.pick_status("sick")
        assert list(desk.view.which) == ["F-T01-1", "F-two"]
        desk.pick_fragment("")
        assert statuses(desk)[0] is None
        desk.pick_status("sick")
        desk.pick_fragment("F-two")
        assert list(desk.view.which) == []
        assert desk.store.finding(SURVEY, "fragment:F-T01-1") is None
        (entry,) = desk.store.entries_of(SURVEY, "fragment:F-two")
        assert isinstance(entry, ConditionSeen)
        assert (entry.status, entry.seen_at) == ("sick", "T01/1.1.1")


def test_the_same_tap_twice_is_one_entry() -> None:
    """A nervous finger does not fill the record."""
    with dive() as desk:
        desk.touch_place("1.1.1")
        desk.pick_status("sick")
        last = desk.store.last("k7f3qz")
        desk.pick_status("sick")
        assert desk.store.last("k7f3qz") == last


def test_a_structure_without_a_design_is_refused_and_the_one_before_stays() -> None:
    """There is nothing to tap on it; the crew goes on where it was."""
    with dive() as desk:
        with pytest.raises(NothingSuch, match=r"T99.*no design"):
            desk.show("T99")
        desk.touch_place("1.1.1")
        assert desk.view.structure == "T01"


def test_a_page_or_a_structure_that_nobody_reached_says_why() -> None:
    """The next page opens; of a whole structure every page is not reached, but for what somebody spoke of."""
    with dive() as desk:
        desk.not_reached("T01/1", "Strong current")
        assert [page.state for page in desk.view.overview.pages] == ["not_reached", "in_work"]
        assert desk.page_address == "T01/2"
        desk.touch_place("2.1.1")
        desk.pick_status("sick")
        desk.not_reached("T01", "No time")
        assert [page.state for page in desk.view.overview.pages] == ["not_reached", "in_work"]
        desk.undo()
        desk.undo()
        desk.not_reached("T01", "No time")
        assert desk.open.finished
