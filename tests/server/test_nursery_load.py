"""Loading a nursery from a file that somebody typed."""

import pytest

from server.registry.loading import check_files, load_files
from server.registry.sources import Source
from server.store.record import RecordStore
from tests.server.nursery_files import EXAMPLES, FRAGMENTS, GOOD, load, refusal, told, totals


def test_a_file_becomes_the_standing_facts_of_the_record(store: RecordStore) -> None:
    """Structures, genets, people, surveys and fragments of the example can be looked up afterwards."""
    assert totals(load(store, GOOD)) == (10, 0, 0)
    cutting = store.standing("fragment:AM-002")
    assert (cutting.value("place"), cutting.value("parent")) == ("T01/1.1.2", "AM-001")
    assert store.standing("fragment:AM-001").value("tag") == "0001-E"
    assert store.standing("structure:T01").value("depth_cm") == 450
    assert store.standing("structure:L1").value("design")["spacing"] == "150"
    assert store.standing("person:ines").value("name") == "Inés Maravel"
    assert store.standing("survey:2026-04").value("structures") == ["T01", "L1"]
    planted = store.entries_of("", "fragment:AM-001")[0].entry
    assert planted is not None
    assert planted.observed.date().isoformat() == "2026-01-20"


def test_a_cutting_without_a_genet_is_of_its_mothers_genet(store: RecordStore) -> None:
    """What is stored of it says so, so that it counts among its genet."""
    load(store, GOOD)
    assert store.standing("fragment:AM-002").value("genet") == "Amrel"


def test_the_same_file_again_changes_nothing(store: RecordStore) -> None:
    """A second load writes no entry and counts every row as there already."""
    load(store, GOOD)
    before = store.heads()
    assert totals(load(store, GOOD)) == (0, 0, 10)
    assert store.heads() == before


def test_yaml_and_several_tables_can_say_the_same_as_one_table(store: RecordStore) -> None:
    """The YAML example loads, a table of cuttings on top of it, and both are nothing new the second time."""
    yaml = Source("nursery.yaml", (EXAMPLES / "nursery.yaml").read_bytes())
    table = Source("fragments.csv", (EXAMPLES / "fragments.csv").read_bytes())
    assert totals(load_files(store, [table, yaml], "office")) == (9, 0, 0)
    assert totals(load_files(store, [yaml, table], "office")) == (0, 0, 9)
    assert store.standing("structure:L1").value("design")["per_stretch"] == 10


def test_yaml_tells_the_line_of_each_mistake(store: RecordStore) -> None:
    """An empty value counts as an empty cell; a field that is not known, a list that is not, and broken YAML are reported."""
    text = "genets:\n- {id: G1, donor: ~}\n- id: G2\n  colour: brown\nplants:\n- {id: P}\n"
    assert told(refusal(store, text, "n.yaml")) == [(4, "colour", "brown"), (5, "list", "plants")]
    assert [problem.line for problem in refusal(store, "genets:\n- {id: G1\n", "n.yml").problems] == [3]
    load(store, "genets:\n- {id: G1, donor: ~}\n", "n.yaml")
    assert store.standing("genet:G1").value("donor") is None


def test_a_changed_row_replaces_what_stood_there(store: RecordStore) -> None:
    """One new entry names the old one, the new value holds, and the old entry is still there to read."""
    load(store, GOOD)
    moved = GOOD.replace("T01/1.1.2", "T01/5.4.5")
    assert totals(load(store, moved)) == (0, 1, 9)
    assert store.standing("fragment:AM-002").value("place") == "T01/5.4.5"
    first, second = store.entries_of("", "fragment:AM-002")
    assert second.entry is not None
    assert second.entry.replaces == (first.id,)
    assert totals(load(store, moved)) == (0, 0, 10)


def test_another_day_of_planting_is_a_change(store: RecordStore) -> None:
    """The day is no fact of its own, and still a correction of it is not lost."""
    load(store, GOOD)
    assert totals(load(store, GOOD.replace("2026-03-02", "2026-03-05"))) == (0, 1, 9)
    assert totals(load(store, GOOD.replace("2026-03-02", "2026-03-05"))) == (0, 0, 10)


def test_an_empty_cell_erases_nothing(store: RecordStore) -> None:
    """A row without tag and length leaves those of the record, and a supervisor stays one."""
    load(store, GOOD)
    emptied = GOOD.replace("0001-E,85", ",").replace("supervisor", "").replace("Inés", "Ines")
    assert totals(load(store, emptied)) == (0, 1, 9)
    assert store.standing("fragment:AM-001").value("tag") == "0001-E"
    assert store.standing("person:ines").value("role") == "supervisor"


def test_what_a_survey_found_later_is_not_undone_by_a_file(store: RecordStore) -> None:
    """A fragment that a survey found elsewhere stays there, and its old position may be given to another."""
    load(store, GOOD)
    line = (
        b'{"id":"k7f3qz-1","kind":"fragment_moved","v":1,"survey":"2026-04","subject":"fragment:AM-002","by":"toma",'
        b'"observed":"2026-04-03T10:00:00+00:00","entered":"2026-04-03T10:00:00+00:00","place":"T01/2.1.1"}'
    )
    store.receive([line], "k7f3qz")
    more = FRAGMENTS + "AM-009,T01/1.1.2,Amrel,,,\n"
    assert totals(load(store, GOOD)) == (0, 0, 10)
    assert totals(load(store, more)) == (1, 0, 0)
    assert store.standing("fragment:AM-002").value("place") == "T01/2.1.1"
    refused = refusal(store, FRAGMENTS + "AM-010,T01/2.1.1,Amrel,,,\n")
    assert told(refused) == [(2, "position", "T01/2.1.1")]


def test_a_dry_run_says_what_a_load_would_and_stores_nothing(store: RecordStore) -> None:
    """Both give equal counts, before and after a load, and only the load leaves entries."""
    source = [Source("nursery.csv", GOOD.encode())]
    rehearsed = check_files(store, source, "office")
    assert not store.heads()
    assert totals(rehearsed) == totals(load(store, GOOD))
    assert totals(check_files(store, source, "office")) == (0, 0, 10)


@pytest.mark.parametrize("delimiter", [",", ";", "\t"])
@pytest.mark.parametrize("mark", ["", "\ufeff"])
@pytest.mark.parametrize("ending", ["\n", "\r\n"])
def test_tables_load_as_spreadsheets_write_them(empty_store: RecordStore, delimiter: str, mark: str, ending: str) -> None:
    """Commas, semicolons or tabs; with or without a byte order mark; either line end; headings written freely."""
    rows = [
        "Record,ID,Design,Position,GENET,Length (mm)",
        "genet,Amrel,,,,",
        "structure,T1,tree,,,",
        "Fragment,A, ,T1/1.1.1,Amrel,60",
    ]
    text = mark + "".join(row.replace(",", delimiter) + ending for row in rows)
    assert totals(check_files(empty_store, [Source("t.csv", text.encode())], "office")) == (3, 0, 0)
