"""Entering a page: marking what is wrong, vouching for the rest, and taking things back."""

from hypothesis import given
from hypothesis import strategies as st

from mobile.desk import UNDO_DEPTH, UNSEEN, PageView, PracticeDesk
from mobile.palette import CONDITIONS
from shared_schema.designs import parse_design

TREE = parse_design({"design": "tree"})
PATHS = [position.path for position in TREE.pages[0].positions]
STATUSES = st.sampled_from([*CONDITIONS, UNSEEN])
DEEDS = st.lists(
    st.one_of(
        st.tuples(st.just("touch_place"), st.sampled_from(PATHS)),
        st.tuples(st.just("touch_arm"), st.integers(1, 4)),
        st.tuples(st.just("pick_status"), STATUSES),
        st.tuples(st.just("choose_way"), st.sampled_from(["place_first", "status_first"])),
    ),
    max_size=30,
)


def desk() -> PracticeDesk:
    """A common tree in which one place is bare."""
    return PracticeDesk("T07", TREE, bare=frozenset({"1.4.5"}))


def entered(view: PageView) -> list[str | None]:
    """What was said of each place."""
    return [UNSEEN if spot.unseen else spot.status for spot in view.board.spots]


def test_nothing_starts_alive() -> None:
    """A page that nobody touched says nothing of any place."""
    assert entered(desk().view) == [None] * 20


def test_a_place_then_its_status() -> None:
    """Tapping a place and a status marks it, and another status corrects it without tapping the place again."""
    practice = desk()
    practice.touch_place("1.2.4")
    practice.pick_status("sick")
    practice.pick_status("dead")
    assert practice.statuses == {"1.2.4": "dead"}
    assert practice.view.chosen == "dead"


def test_a_status_then_its_places() -> None:
    """With a status in hand each tap marks a place, until the status is put down."""
    practice = desk()
    practice.choose_way("status_first")
    practice.pick_status("bleached")
    practice.touch_place("1.1.1")
    practice.touch_place("1.1.2")
    practice.pick_status("bleached")
    practice.touch_place("1.1.3")
    assert practice.statuses == {"1.1.1": "bleached", "1.1.2": "bleached"}


def test_an_arm_is_marked_at_once() -> None:
    """An arm and a status mark all that hangs from it, and no bare place."""
    practice = desk()
    practice.touch_arm(4)
    practice.pick_status("lost")
    assert practice.statuses == {f"1.4.{hole}": "lost" for hole in range(1, 5)}


@given(DEEDS)
def test_counts_add_up_to_what_hangs_there(deeds: list[tuple[str, object]]) -> None:
    """Alive, marked and unseen are all corals of the page, whatever was tapped, and marked are those with an exception."""
    practice = desk()
    for name, value in deeds:
        getattr(practice, name)(value)
    view = practice.view
    assert view.counts.alive + view.counts.marked + view.counts.unseen == 19
    assert view.counts.unseen == entered(view).count(UNSEEN)


@given(st.lists(st.tuples(st.sampled_from(PATHS[:19]), STATUSES), max_size=30))
def test_undo_brings_every_state_back(marks: list[tuple[str, str]]) -> None:
    """Undoing one by one shows each earlier state again, twenty deep, and then changes nothing more."""
    practice = desk()
    practice.choose_way("status_first")
    history = [entered(practice.view)]
    for path, status in marks:
        practice.pick_status(status)
        practice.touch_place(path)
        practice.pick_status(status)
        history.append(entered(practice.view))
    for before in reversed(history[-UNDO_DEPTH - 1 : -1]):
        practice.undo()
        assert entered(practice.view) == before
    assert practice.view.done is None or len(marks) > UNDO_DEPTH
    kept = entered(practice.view)
    practice.undo()
    assert entered(practice.view) == kept


def test_signing_off_vouches_for_the_rest_and_goes_on() -> None:
    """After signing off, the next page without a signature is open, and the signed one shows the rest alive."""
    practice = desk()
    practice.touch_place("1.1.1")
    practice.pick_status("sick")
    practice.touch_place("1.1.2")
    practice.pick_status(UNSEEN)
    practice.sign_off()
    assert practice.view.board.page.path == "2"
    practice.open_page("1")
    assert practice.view.signed
    assert entered(practice.view) == ["sick", UNSEEN, *["alive"] * 17, None]


def test_a_change_after_signing_asks_for_a_new_signature() -> None:
    """Nobody vouched for what was entered later."""
    practice = desk()
    practice.sign_off()
    practice.open_page("1")
    practice.touch_place("1.1.1")
    practice.pick_status("sick")
    assert not practice.view.signed


def test_undo_takes_a_signature_back() -> None:
    """Undo right after signing off opens the page again, unsigned."""
    practice = desk()
    practice.sign_off()
    practice.undo()
    assert practice.view.board.page.path == "1"
    assert not practice.view.signed
