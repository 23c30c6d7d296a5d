"""Corals on their way: moved, cut, replaced; on the same page, on another one, and on another structure."""

from mobile.desk import Carry
from mobile.dive_desk import DiveDesk
from tests.mobile.nursery import SURVEY
from tests.mobile.test_dive_desk import dive


def hanging(desk: DiveDesk, place: str) -> list[str]:
    """What hangs at an address by the record on disk."""
    return [hung.fragment for hung in desk.store.at(place) if hung.here]


def free(desk: DiveDesk, *places: str) -> None:
    """Take away what hangs there."""
    for place in places:
        desk.record(lambda recorder, place=place: recorder.move(place, "removed"))  # type: ignore[misc]


def test_a_coral_is_moved_to_the_place_that_is_tapped() -> None:
    """It hangs there at once; the tap that took it back is one undo."""
    with dive() as desk:
        free(desk, "T01/1.2.3")
        desk.take_up(Carry("move", "F-T01-1"))
        desk.touch_place("1.2.3")
        assert hanging(desk, "T01/1.2.3") == ["F-T01-1"]
        assert hanging(desk, "T01/1.1.1") == []
        assert desk.view.carry is None
        assert [spot.path for spot in desk.view.board.spots if spot.last_touched] == ["1.2.3"]
        desk.undo()
        assert hanging(desk, "T01/1.1.1") == ["F-T01-1"]


def test_it_is_carried_over_pages_and_structures() -> None:
    """Whatever is opened meanwhile, it stays in hand until it is hung or put down."""
    with dive() as desk:
        free(desk, "T02/2.2.3")
        desk.take_up(Carry("move", "F-T01-1"))
        desk.open_page("2")
        desk.show("T02", "2")
        desk.touch_place("2.2.3")
        assert hanging(desk, "T02/2.2.3") == ["F-T01-1"]
        desk.undo()
        assert hanging(desk, "T01/1.1.1") == ["F-T01-1"]


def test_a_place_that_is_taken_wants_a_second_tap() -> None:
    """The first one asks; another place may be tapped instead; the second hangs both there."""
    with dive() as desk:
        desk.take_up(Carry("move", "F-T01-1"))
        desk.touch_place("1.1.2")
        assert desk.view.carry == Carry("move", "F-T01-1", taken="1.1.2")
        assert hanging(desk, "T01/1.1.2") == ["F-T01-2"]
        desk.touch_place("1.1.3")
        assert hanging(desk, "T01/1.1.3") == ["F-T01-3"]
        desk.touch_place("1.1.3")
        assert hanging(desk, "T01/1.1.3") == ["F-T01-1", "F-T01-3"]


def test_back_on_its_own_place_it_was_never_moved() -> None:
    """Tapping where it came from puts it down, and writes nothing."""
    with dive() as desk:
        last = desk.store.last("k7f3qz")
        desk.take_up(Carry("move", "F-T01-1"))
        desk.touch_place("1.1.1")
        assert desk.view.carry is None
        assert desk.store.last("k7f3qz") == last


def test_pieces_of_a_mother_hang_wherever_is_tapped() -> None:
    """Each is of her genet, and each says that she was cut; the mother stays in hand until she is put down."""
    with dive() as desk:
        free(desk, "T01/1.2.1", "T01/1.2.2")
        desk.take_up(Carry("cut", "F-T01-1"))
        desk.touch_place("1.2.1")
        desk.touch_place("1.2.2")
        assert desk.view.carry == Carry("cut", "F-T01-1")
        desk.take_up(None)
        for place in ("T01/1.2.1", "T01/1.2.2"):
            (piece,) = desk.store.at(place)
            assert (piece.standing.value("parent"), piece.standing.value("genet")) == ("F-T01-1", "G1")
        assert len(desk.store.logged(SURVEY, "fragment:F-T01-1", "harvest")) == 2
        desk.undo()
        assert hanging(desk, "T01/1.2.2") == []
        assert len(desk.store.logged(SURVEY, "fragment:F-T01-1", "harvest")) == 1


def test_a_mother_is_chosen_on_another_structure() -> None:
    """The new coral hangs where it was asked for, that page opens again, and what hung there before is out."""
    with dive() as desk:
        desk.take_up(Carry("mother", where="T01/1.1.1", replant=True))
        desk.show("T02", "2")
        desk.touch_place("2.1.1")
        assert desk.page_address == "T01/1"
        (new,) = hanging(desk, "T01/1.1.1")
        assert desk.store.fragment(new).standing.value("parent") == "F-T02-7"
        assert desk.store.fragment("F-T01-1").place == "removed"
        desk.undo()
        assert hanging(desk, "T01/1.1.1") == ["F-T01-1"]
        assert desk.store.logged(SURVEY, "fragment:F-T02-7", "harvest") == ()


def test_an_empty_place_is_no_mother() -> None:
    """A tap beside her leaves the question open."""
    with dive() as desk:
        free(desk, "T01/1.1.2")
        desk.take_up(Carry("mother", where="T01/1.1.2"))
        desk.touch_place("1.1.2")
        assert desk.view.carry is not None
        assert hanging(desk, "T01/1.1.2") == []


def test_a_new_coral_asks_for_a_new_signature() -> None:
    """Nobody vouched for what was hung later."""
    with dive() as desk:
        free(desk, "T01/1.1.1")
        desk.sign_off()
        assert desk.open.state("1") == "signed_off"
        desk.record(lambda recorder: recorder.plant("T01/1.1.1", "T01/1.1.2"))
        assert desk.open.state("1") == "in_work"
