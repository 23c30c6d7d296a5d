"""Undo: always there, twenty deep, alive after a restart, and never a loss."""

import tempfile
from collections.abc import Callable
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from mobile.recorder import Action, Recorder
from mobile.store import Store
from mobile.undo import DEEPEST
from shared_schema.entries import (
    EntryWithdrawn,
)
from shared_schema.errors import NothingSuch
from tests.mobile.nursery import found_in, recorder, tablet

JPEG = b"\xff\xd8\xff\xe0 a picture"


Deed = Callable[[Recorder], Action]

DEEDS: dict[str, Deed] = {
    "a dive": lambda crew: crew.log_dive(["ana", "ben"], depth_cm=450),
    "a mark": lambda crew: crew.mark("T01/1.1.1", status="preyed_on", predator="snail", signs=["spots"]),
    "an arm": lambda crew: crew.mark_arm("T01/1.2", status="fading"),
    "a size": lambda crew: crew.measure("T01/1.1.1", length_mm=80, tle_mm=420),
    "a tag": lambda crew: crew.check_tag("T01/1.1.1", "unreadable"),
    "a planting": lambda crew: crew.plant("T01/1.1.1", donor="big colony", accession="A-7"),
    "a replanting": lambda crew: crew.replant("T01/1.1.1", "T01/1.1.2"),
    "a move": lambda crew: crew.move("T01/1.1.1", "T01/2.1.1", "storm"),
    "a find": lambda crew: crew.found_on_ground("F-T01-1", status="bleached"),
    "a harvest": lambda crew: crew.harvest("T01/1.1.1", 4, 50),
    "an outplanting": lambda crew: crew.outplant("T01/1.1.1", "north-reef", "nail and tie"),
    "upkeep of a structure": lambda crew: crew.upkeep("T01", ["cleaned", "float_checked"], 20),
    "upkeep of a page": lambda crew: crew.upkeep("T01/1", ["cleaned"]),
    "a note": lambda crew: crew.note("T01/1.1.1", "a crab lives here"),
    "a note on a fragment": lambda crew: crew.note("F-T01-1", "odd colour"),
    "a photo": lambda crew: crew.photo("T01/1", JPEG, "slate", slate=True),
    "a signature": lambda crew: crew.sign_off("T01/1"),
    "a page not reached": lambda crew: crew.not_reached("T01", "no time"),
}


def _shown(store: Store) -> dict[str, object]:
    """All that anybody is shown: standings, and what each log holds."""
    shown: dict[str, object] = {}
    for finding in store.every_finding():
        shown[finding.subject] = store.standing(finding.subject).facts or None
        for fact, slot in finding.slots.items():
            shown[f"{finding.survey} {finding.subject} {fact}"] = slot.value
    return {name: value for name, value in shown.items() if value is not None}


@pytest.mark.parametrize("deed", DEEDS.values(), ids=DEEDS)
def test_every_action_can_be_taken_back_after_a_restart(tmp_path: Path, deed: Deed) -> None:
    """What is shown after the undo is what was shown before; what was said stays readable for ever."""
    path = tmp_path / "t.sqlite"
    with tablet(path, statuses={"F-T01-1": "bleached"}) as store:
        before = _shown(store)
        done = deed(recorder(store))
        assert done.entries
        assert _shown(store) != before
    with Store(path) as store:
        undone = recorder(store, "ben").undo()
        assert undone is not None
        assert _shown(store) == before
        assert all(store.line(entry.entry_id) is not None for entry in done.entries)
        assert recorder(store).undo() is None


@settings(max_examples=20)
@given(st.lists(st.sampled_from(list(DEEDS.values())), max_size=8))
def test_undoing_everything_leads_back_through_every_state(deeds: list[Deed]) -> None:
    """Any sequence of actions, taken back one by one, shows at each step what was shown there before."""
    with tempfile.TemporaryDirectory() as folder, tablet(Path(folder) / "t.sqlite") as store:
        states = [_shown(store)]
        for deed in deeds:
            try:
                deed(recorder(store))
            except NothingSuch:
                continue  # the fragment is elsewhere by now
            states.append(_shown(store))
        while states:
            assert _shown(store) == states.pop()
            recorder(store).undo()


def test_undo_goes_twenty_deep(tmp_path: Path) -> None:
    """The twenty-first action back stays."""
    with tablet(tmp_path / "t.sqlite") as store:
        crew = recorder(store)
        for number in range(DEEPEST + 1):
            crew.measure("T01/1.1.1", length_mm=number)
        assert DEEPEST == 20
        while crew.undo() is not None:
            pass
        assert found_in(store, "fragment:F-T01-1").value("length_mm") == 0


def test_an_undo_takes_back_in_the_name_of_whoever_said_it(tmp_path: Path) -> None:
    """Ben takes back what he typed for Ana: the withdrawal counts, for it is hers."""
    with tablet(tmp_path / "t.sqlite") as store:
        recorder(store, "ana").mark("T01/1.1.1", status="dead")
        undone = recorder(store, "ben").undo()
        assert undone is not None
        (entry,) = undone.entries
        assert isinstance(entry, EntryWithdrawn)
        assert (entry.by, entry.typed_by) == ("ana", "ben")
        assert found_in(store, "fragment:F-T01-1").idle == ()
