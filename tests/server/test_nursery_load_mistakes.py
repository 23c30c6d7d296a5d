"""Mistakes in a nursery file: each is reported where it is, with what to do."""

import csv
import io
import re

import pytest
from hypothesis import given
from hypothesis import strategies as st

from server.registry.loading import check_files
from server.registry.problems import FileRefused
from server.registry.sources import Source
from server.store.record import RecordStore
from tests.server.nursery_files import FRAGMENTS, GOOD, HEADINGS, load, refusal, told, totals


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
