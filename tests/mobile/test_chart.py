"""A structure's chart, kept true to the disk at the cost of what changed, is what the disk would give anew."""

import tempfile
from contextlib import suppress
from pathlib import Path

from hypothesis import given, settings
from hypothesis import strategies as st

from mobile.dive_desk import DiveDesk
from mobile.open_structure import OpenStructure
from shared_schema.errors import CrosstreeError
from tests.mobile.nursery import SURVEY, TREE, recorder, tablet

PLACES = ["T01/1.1.1", "T01/1.1.3", "T01/2.1.2", "T02/1.1.1"]  # few, so that they meet
PLACE = st.sampled_from(PLACES)
DEEDS = st.lists(
    st.one_of(
        st.tuples(st.just("mark"), PLACE, st.sampled_from(["alive", "bleached", "dead", "lost"])),
        st.tuples(st.just("move"), PLACE, st.one_of(PLACE, st.sampled_from(["ground", "removed"]))),
        st.tuples(st.just("cut"), PLACE, PLACE),
        st.tuples(st.just("replant"), PLACE, PLACE),
        st.tuples(st.just("undo")),
    ),
    max_size=12,
)


def do(desk: DiveDesk, deed: tuple[str, ...]) -> None:
    """One thing a crew does; what is not clear is not done."""
    what, *where = deed
    with suppress(CrosstreeError):
        if what == "mark":
            desk.record(lambda recorder: recorder.mark(where[0], status=where[1]))
        elif what == "move":
            desk.record(lambda recorder: recorder.move(where[0], where[1]))
        elif what == "undo":
            desk.undo()
        else:
            desk.record(lambda recorder: recorder.cut(where[0], where[1], replant=what == "replant"))


@settings(max_examples=60, deadline=None)
@given(DEEDS)
def test_what_is_moved_cut_and_taken_back_is_shown_as_the_disk_has_it(deeds: list[tuple[str, ...]]) -> None:
    """After each deed the chart, its order, the pages and each position are what a fresh look at the disk shows."""
    with tempfile.TemporaryDirectory() as folder, tablet(Path(folder) / "t.sqlite") as store:
        desk = DiveDesk(recorder(store), "T01")
        for deed in deeds:
            do(desk, deed)
            fresh = OpenStructure(store, SURVEY, desk.open.name)
            assert desk.open.chart == fresh.chart, deed
            assert [*desk.open.chart.by_place] == [*fresh.chart.by_place], deed
            assert (desk.open.marks, desk.open.statuses) == (fresh.marks, fresh.statuses), deed
            spots = [desk.open.views.at(desk.open.chart, position.path) for position in TREE.positions]
            assert spots == [fresh.views.at(fresh.chart, position.path) for position in TREE.positions], deed


def test_a_place_where_nothing_changed_is_not_looked_at_again() -> None:
    """A tap costs what it changed: the other places keep what they have, to the object."""
    with tempfile.TemporaryDirectory() as folder, tablet(Path(folder) / "t.sqlite") as store:
        desk = DiveDesk(recorder(store), "T01")
        before = desk.open.chart
        desk.touch_place("1.1.1")
        desk.pick_status("dead")
        after = desk.open.chart
        changed = [place for place in before.by_place if after.at(place) is not before.at(place)]
        assert changed == ["T01/1.1.1"]
