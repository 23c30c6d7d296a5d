"""Loading a nursery from a file that somebody typed."""

import csv
import io
import re
from collections.abc import Iterator
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from server.registry.loading import LoadReport, check_files, load_files
from server.registry.problems import FileRefused
from server.registry.sources import Source
from server.settings import Settings
from server.store.opening import create_nursery
from server.store.record import RecordStore

EXAMPLES = Path(__file__).parents[2] / "docs" / "examples"
GOOD = (EXAMPLES / "nursery.csv").read_text("utf-8")
HEADINGS = GOOD.splitlines()[0].split(",")


@pytest.fixture(params=["sqlite", pytest.param("postgresql", marks=pytest.mark.postgres)])
def store(request: pytest.FixtureRequest, tmp_path: Path) -> Iterator[RecordStore]:
    """The record of a nursery about which nothing is known, on either database."""
    sqlite = f"sqlite:///{tmp_path / 'nursery.sqlite'}"
    url = sqlite if request.param == "sqlite" else request.getfixturevalue("postgres_database")
    made = create_nursery(Settings.of(tmp_path, url), "a nursery")
    yield made
    made.engine.dispose()


@pytest.fixture(scope="module")
def empty_store(tmp_path_factory: pytest.TempPathFactory) -> Iterator[RecordStore]:
    """One such record for many dry runs, which leave it as it is."""
    folder = tmp_path_factory.mktemp("empty")
    made = create_nursery(Settings.of(folder, f"sqlite:///{folder / 'nursery.sqlite'}"), "an empty nursery")
    yield made
    made.engine.dispose()


def load(store: RecordStore, text: str | bytes, name: str = "nursery.csv") -> LoadReport:
    """Load one file."""
    content = text if isinstance(text, bytes) else text.encode()
    return load_files(store, [Source(name, content)], "office")


def totals(report: LoadReport) -> tuple[int, int, int]:
    """Rows that were new, changed, there already."""
    return report.total("new"), report.total("changed"), report.total("unchanged")


def refusal(store: RecordStore, text: str | bytes, name: str = "nursery.csv") -> FileRefused:
    """The refusal of a file, after a look that nothing of it was stored."""
    before = store.heads()
    with pytest.raises(FileRefused) as caught:
        load(store, text, name)
    assert store.heads() == before
    return caught.value


def told(refused: FileRefused) -> list[tuple[int, str, str]]:
    """Line, column and value of each problem."""
    return [(problem.line, problem.column, problem.value) for problem in refused.problems]


FRAGMENTS = "fragment,position,genet,parent,tag,planted\n"


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


def test_a_file_that_is_not_utf8_is_refused_with_the_line(store: RecordStore) -> None:
    """A name with an é in Windows-1252 is not guessed at: the message names its line and what it may have been."""
    refused = refusal(store, GOOD.encode("cp1252"))
    (problem,) = refused.problems
    assert problem.line == 2
    assert "Inés Maravel" in problem.reason


@pytest.mark.parametrize(
    ("content", "word"),
    [
        (b"\xff\xfer\0e\0", "UTF-16"),
        (b"PK\x03\x04rest", "workbook"),
        (b"record,id\n\0\n", "NUL"),
        (b"", "heading"),
        (b"fragment,position\n", "no rows"),
    ],
)
def test_what_is_no_table_is_refused_by_what_it_is(store: RecordStore, content: bytes, word: str) -> None:
    """A workbook, UTF-16, NUL bytes, an empty file and headings alone each get their own advice."""
    assert word in str(refusal(store, content))


@pytest.mark.parametrize(
    ("row", "column", "word"),
    [
        ("X,T01/1.1.5,Amrel,,,03/04/2026", "planted", "2026-04-03 or 2026-03-04"),
        ("X,T01/1.1.5,Amrel,,,25/12/2025", "planted", "2025-12-25"),
        ("X,T01/1.1.5,Amrel,,,2026-02-30", "planted", "calendar"),
        ("X,T01/1.1.1,Amrel,,,", "position", "AM-001"),
        ("X,T01/6.1.1,Amrel,,,", "position", "1.1.1 to 5.4.5"),
        ("X,T09/1.1.1,Amrel,,,", "position", "no structure T09"),
        ("X,T01-1-1,Amrel,,,", "position", "T07/3.2.4"),
        ("X,,Amrel,,,", "position", "empty"),
        ("X,T01/1.1.5,,,,", "genet", "empty"),
        ("X,T01/1.1.5,Zzz,,,", "genet", "no genet Zzz"),
        ("X,T01/1.1.5,,nobody,,", "parent", "no fragment nobody"),
        ("X,T01/1.1.5,Bulwe,AM-001,,", "genet", "AM-001 (in the record) is of genet Amrel"),
        ("X,T01/1.1.5,,X,,", "parent", "descends from itself"),
        ("X,T01/1.1.5,Amrel,,OOO1e,", "tag", "AM-001"),
        ("a b,T01/1.1.5,Amrel,,,", "fragment", "no blanks"),
        (",T01/1.1.5,Amrel,,,", "fragment", "needs a name"),
        ("X,T01/1.1.5,Amrel,,,,surplus", "end of the line", "more cells"),
        ('X,"T01/1.1.5,Amrel,,,', "", "quotation mark"),
    ],
)
def test_a_bad_row_is_reported_with_line_column_value_and_advice(store: RecordStore, row: str, column: str, word: str) -> None:
    """Each mistake names where it is and what to do, also where only the record tells that it is one."""
    load(store, GOOD)
    refused = refusal(store, FRAGMENTS + "AM-100,T01/4.1.1,Amrel,,,\n" + row + "\n")
    (problem,) = refused.problems
    assert (problem.line, problem.column) == (3, column)
    assert problem.value in row
    assert word in problem.reason


def test_mistakes_of_two_rows_name_each_other(store: RecordStore) -> None:
    """One position, one tag or one name given twice is reported on the later line, naming the earlier."""
    load(store, GOOD)
    rows = "P,T01/4.1.1,Amrel,,Z9,\nQ,T01/4.1.1,Amrel,,z9,\nR,T01/4.1.2,Amrel,,Z9,\nR,T01/4.1.3,Amrel,,,\n"
    refused = refusal(store, FRAGMENTS + rows)
    assert [(line, column) for line, column, _ in told(refused)] == [(3, "position"), (4, "tag"), (5, "fragment")]
    assert [re.findall(r"line (\d)", problem.reason) for problem in refused.problems] == [["2"], ["2"], ["4"]]


def test_headings_that_are_not_known_are_reported_not_lost(store: RecordStore) -> None:
    """A misspelt column is a mistake with a suggestion; one marked with # is left out."""
    load(store, GOOD)
    refused = refusal(store, "fragment,positon,genet\nX,T01/4.1.1,Amrel\n")
    assert told(refused) == [(1, "heading", "position"), (1, "heading", "positon")]
    assert "is it position?" in refused.problems[1].reason
    assert totals(load(store, "fragment,position,genet,# remarks\nX,T01/4.1.1,Amrel,bright\n")) == (1, 0, 0)


def test_a_new_design_must_have_room_for_what_hangs(store: RecordStore) -> None:
    """A line of fewer places is refused while a fragment hangs on a place that would be gone."""
    load(store, GOOD + "fragment,BU-020,,,,,,,,,,,L1/1.20,Bulwe,,,,\n")
    refused = refusal(store, 'structure,design\nL1,"line, 10 places every 150 mm"\n')
    assert told(refused) == [(2, "design", "line, 10 places every 150 mm")]
    assert "BU-020" in refused.problems[0].reason


def test_a_hundred_mistakes_are_all_kept_and_twenty_printed(store: RecordStore) -> None:
    """The message shows the first twenty and how many more there are."""
    refused = refusal(store, FRAGMENTS + "".join(f"X{number},nowhere,G,,,\n" for number in range(100)))
    assert len(refused.problems) == 200
    assert len(str(refused).splitlines()) == 22
    assert "and 180 more" in str(refused)


WORDS = st.one_of(
    st.text(max_size=30),
    st.sampled_from(
        ["", "T01", "T01/1.1.2", "T01/9.9.9", "AM-001", "AM-002", "0001-E", "Amrel", "Bulwe", "tree", "line, 20 m every 0 m"]
    ),
    st.sampled_from(
        [
            "fragment",
            "genet",
            "2026-04",
            "2026-13-01",
            "03/04/2026",
            "-1",
            "85.5",
            "{design: tree}",
            "{",
            '"',
            "removed",
            "site:reef",
        ]
    ),
)


@given(line=st.integers(2, len(GOOD.splitlines())), place=st.integers(0, len(HEADINGS) - 1), word=WORDS)
def test_a_corrupted_cell_is_still_valid_or_is_reported_where_it_is(
    empty_store: RecordStore, line: int, place: int, word: str
) -> None:
    """Whatever somebody types over one cell, the file loads, or a problem is on that line or names it."""
    rows = list(csv.reader(io.StringIO(GOOD)))
    rows[line - 1][place] = word.replace("\n", " ").replace("\r", " ")
    out = io.StringIO()
    csv.writer(out, lineterminator="\n").writerows(rows)
    try:
        content = out.getvalue().encode()
    except UnicodeEncodeError:  # half a surrogate pair: no spreadsheet can save it as UTF-8
        return
    name = GOOD.splitlines()[line - 1].split(",")[1]
    try:
        report = check_files(empty_store, [Source("nursery.csv", content)], "office")
    except FileRefused as refused:
        problems = refused.problems
    else:
        assert totals(report) == (10, 0, 0)
        return
    assert any(
        each.line == line or f"line {line} " in each.reason or name in (each.value, *re.findall(r"[\w-]+", each.reason))
        for each in problems
    )
