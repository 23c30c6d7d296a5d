"""The page desk of a dive: the same taps as on the practice desk do the same, and everything is on disk."""

import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from hypothesis import given, settings
from hypothesis import strategies as st

from mobile.desk import UNSEEN, PageDesk, PageView, PracticeDesk
from mobile.dive_desk import DiveDesk
from tests.mobile.nursery import TREE, recorder, tablet

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
    ),
    max_size=25,
)


@contextmanager
def dive(statuses: dict[str, str] | None = None) -> Iterator[DiveDesk]:
    """A desk on a tree of two pages of six, on a tablet of its own."""
    with tempfile.TemporaryDirectory() as folder, tablet(Path(folder) / "t.sqlite", statuses=statuses) as store:
        yield DiveDesk(recorder(store), "T01")


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


@settings(max_examples=60, deadline=None)
@given(DEEDS)
def test_the_same_taps_show_the_same_as_in_practice(deeds: list[tuple[str, ...]]) -> None:
    """Whoever learned it in training meets nothing else on the dive, tap by tap, and after the program was ended at any tap."""
    practice = PracticeDesk("T01", TREE)
    with dive() as desk:
        for deed in deeds:
            do(practice, deed)
            do(desk, deed)
            assert shown(desk.view) == shown(practice.view), deed
