"""A tablet that becomes somebody else forgets nothing that it kept under its old name."""

import json
import re
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st
from pydantic import JsonValue, TypeAdapter

from mobile.fork import _NAMES
from mobile.identity import Identity
from mobile.outbox import Outbox
from mobile.renaming import Renaming
from shared_schema.entries import KINDS
from shared_schema.ids import EntryIdText, Name
from tests.mobile.nursery import NOW, NURSERY, SURVEY, recorder, tablet

NEW = Identity("fresh1", "token", NURSERY, "Reef Bay", "http://server")
IDS = {f"k7f3qz-{number}": f"fresh1-{number - 2}" for number in range(3, 40)}
ALIKE = ("k7f3qz-1", "k7f3qz-2", "k7f3qz-340", "ak7f3qz-3", "k7f3qz-3-4", "k7f3qz-3.1", "2026-11", "T01/3.2", "")
FRAMES = ("{}", "fragment:{}", "doubts:2026-11:{}", "{} was lost in 2026-08 and is alive now", "({})", "see {}.")


def in_any_shape(texts: st.SearchStrategy[str]) -> st.SearchStrategy[Any]:
    """JSON of any shape, made of these texts."""
    leaves = texts | st.integers() | st.booleans() | st.none()
    return st.recursive(leaves, lambda inner: st.lists(inner, max_size=3) | st.dictionaries(texts, inner, max_size=3), max_leaves=8)


@given(in_any_shape(st.builds(str.format, st.sampled_from(FRAMES), st.sampled_from([*IDS, *ALIKE]))))
def test_an_id_is_found_wherever_it_stands_and_nothing_else_is_touched(value: JsonValue) -> None:
    """Alone, in a subject, in a sentence, as a key; what only looks alike stays, and so all can be turned back."""
    renamed = Renaming(IDS).value(value)
    assert Renaming({new: old for old, new in IDS.items()}).value(renamed) == value
    ids_left = set(re.findall(r"(?<![\w.-])k7f3qz-[0-9]+(?![\w-]|\.\w)", json.dumps(renamed)))
    assert not ids_left & set(IDS)


@pytest.mark.parametrize("frame", FRAMES)
def test_each_way_of_naming_an_entry_follows(frame: str) -> None:
    """The old id gives way to the new one, and the words round it stay."""
    assert Renaming(IDS).text(frame.format("k7f3qz-12")) == frame.format("fresh1-10")
    for alike in ALIKE:
        assert Renaming(IDS).text(frame.format(alike)) == frame.format(alike)


def test_all_that_a_tablet_keeps_follows_its_new_name(tmp_path: Path) -> None:
    """Settings of every shape, those that undo puts back, and where things were done name the new ids; none the old."""
    with tablet(tmp_path / "t.sqlite") as store:
        crew = recorder(store)
        visit = crew.log_dive(["ana"]).entries[0].subject.removeprefix("visit:")
        planted = crew.plant("T01/2.2.3", "T01/1.1.1").fragment
        before: dict[str, JsonValue] = {
            "visit": visit,
            "touched": planted,
            "carried": {"fragment": planted, "since": 3},
            f"doubts:{SURVEY}:T01/2": [["lost_then_living", f"{planted} was lost in 2026-08 and is alive now", "T01/2.2.3"]],
            f"half written:fragment:{planted}": "cut short",
            "aboard": ["ana", "ben-2"],
        }
        store.settings.put(**before)
        crew.found_on_ground(planted, status="alive")
        store.undo.push("marked", planted, (), {f"half written:fragment:{planted}": planted})
        ids = Outbox(store).fork(store.identities.own, 1, NOW, NEW)
        rows = [row for table in ("setting", "action") for row in store.database.rows(f"SELECT * FROM {table}")]
        assert not [row for row in rows if "k7f3qz" in repr(row)]
        assert store.settings.get("visit") == ids[visit]
        assert store.settings.get("carried") == {"fragment": ids[planted], "since": 3}
        assert store.settings.get(f"half written:fragment:{ids[planted]}") == "cut short"
        assert store.settings.get("aboard") == ["ana", "ben-2"]
        assert store.undo.last is not None
        assert store.undo.last.put_back == {f"half written:fragment:{ids[planted]}": ids[planted]}


def test_what_was_said_again_keeps_its_fragments_name(tmp_path: Path) -> None:
    """Undoing a withdrawal writes an entry anew; the fragment that was named after the first one keeps its name."""
    with tablet(tmp_path / "t.sqlite") as store:
        crew = recorder(store)
        crew.plant("T01/2.2.3", "T01/1.1.1")
        planted = crew.found_on_ground("F-T01-1", status="alive").entries[0]
        store.undo.push("noted", planted.id, ())
        crew.take_back("taken back", "T01", planted.id)
        crew.undo()
        assert [done.where for done in store.undo.all][-1] == planted.id
        assert planted.id not in store.undo.all[-2].entries


def test_every_field_that_may_name_an_own_entry_is_renamed() -> None:
    """A new kind of entry, or a new field, that names fragments, dives or entries has to be renamed too, or said not to be."""
    patterns = {json.dumps(TypeAdapter(text).json_schema()["pattern"]) for text in (EntryIdText, Name)}
    found = {
        name
        for kind in KINDS.values()
        for name, field in kind.model_json_schema()["properties"].items()
        if any(pattern in json.dumps(field) for pattern in patterns)
    }
    of_people_places_and_the_office = {"by", "typed_by", "people", "genet", "structures", "batch", "kept_open"}
    assert found - of_people_places_and_the_office - {"replaces"} == set(_NAMES)
