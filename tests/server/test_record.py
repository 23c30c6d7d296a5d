"""The server's record, on both databases."""

from datetime import UTC, datetime

import pytest
from pydantic import ValidationError

from server.settings import Settings
from server.store.checking import check_record, mend
from server.store.engine import reading, writing
from server.store.models import FindingRow
from server.store.record import RecordStore
from server.store.tablets import enrol, list_tablets, new_code, who_holds, withdraw
from shared_schema.author import Author
from shared_schema.entries import (
    ConditionSeen,
    EntryWithdrawn,
    FragmentMoved,
    FragmentPlanted,
    GenetRegistered,
    RulingGiven,
    write_entry,
)
from shared_schema.errors import BadFrame, IdentityClash, NotAllowed, SequenceGap

Nursery = tuple[Settings, RecordStore]

ANA, BEN = "anata2", "benta2"


def author(writer: str, by: str, last: int = 0) -> Author:
    """An author whose clock stands still."""
    return Author(writer, last, by, lambda: datetime(2026, 11, 20, 9, tzinfo=UTC))


def lines(*authors: Author) -> list[bytes]:
    """What they wrote, as lines."""
    return [write_entry(entry) for one in authors for entry in one.written]


def test_what_two_tablets_say_of_one_coral_folds_together(nursery: Nursery) -> None:
    """The second push folds what the first brought: they disagree, and the value that calls for more attention shows."""
    _, store = nursery
    ana, ben = author(ANA, "ana"), author(BEN, "ben")
    ana.write(ConditionSeen, "fragment:F1", "2026-11", status="alive", live_tissue=90)
    ben.write(ConditionSeen, "fragment:F1", "2026-11", status="bleached")
    store.receive(lines(ana), ANA)
    store.receive(lines(ben), BEN)
    finding = store.finding("2026-11", "fragment:F1")
    assert finding.open == ("status",)
    assert finding.value("status") == "bleached"
    assert finding.value("live_tissue") == 90
    assert store.standing("fragment:F1").facts["status"].open


def test_the_same_push_again_changes_nothing(nursery: Nursery) -> None:
    """A lost answer makes a tablet send again."""
    _, store = nursery
    ana = author(ANA, "ana")
    for number in range(5):
        ana.write(ConditionSeen, f"fragment:F{number}", "2026-11", status="alive")
    first = store.receive(lines(ana), ANA)
    again = store.receive(lines(ana), ANA)
    assert (first.stored, first.known) == (5, 0)
    assert (again.stored, again.known) == (0, 5)
    assert store.heads() == {ANA: 5}


def test_a_hole_in_the_numbers_is_refused_and_nothing_of_the_push_is_kept(nursery: Nursery) -> None:
    """Otherwise heads would lie."""
    _, store = nursery
    ana = author(ANA, "ana")
    for number in range(3):
        ana.write(ConditionSeen, f"fragment:F{number}", "2026-11", status="alive")
    first, _, third = lines(ana)
    with pytest.raises(SequenceGap) as caught:
        store.receive([first, third], ANA)
    assert (caught.value.writer, caught.value.expected, caught.value.got) == (ANA, 2, 3)
    assert store.heads() == {}
    assert store.entries_of("2026-11", "fragment:F0") == []


def test_one_id_with_another_content_is_refused(nursery: Nursery) -> None:
    """A cloned tablet goes on with numbers that its twin has used."""
    _, store = nursery
    ana, twin = author(ANA, "ana"), author(ANA, "ana")
    ana.write(ConditionSeen, "fragment:F1", "2026-11", status="alive")
    twin.write(ConditionSeen, "fragment:F1", "2026-11", status="dead")
    store.receive(lines(ana), ANA)
    with pytest.raises(IdentityClash, match=f"{ANA}-1"):
        store.receive(lines(twin), ANA)
    with pytest.raises(IdentityClash):
        store.receive([*lines(ana), *lines(twin)], ANA)
    assert store.finding("2026-11", "fragment:F1").value("status") == "alive"


def test_what_cannot_be_understood_is_stored_and_set_aside(nursery: Nursery) -> None:
    """A newer program's entries, damaged ones and a tablet's ruling are kept as they came, and fold to nothing."""
    _, store = nursery
    ana = author(ANA, "ana")
    ana.write(ConditionSeen, "fragment:F1", "2026-11", status="alive")
    (good,) = lines(ana)
    unknown = b'{"id":"anata2-2","kind":"sound_heard","v":1,"survey":"2026-11"}'
    damaged = good.replace(b"anata2-1", b"anata2-3").replace(b'"alive"', b'"purple"')
    receipt = store.receive([good, unknown, damaged], ANA)
    assert [(one.id, one.reason) for one in receipt.set_aside] == [("anata2-2", "unknown"), ("anata2-3", "damaged")]
    assert store.heads() == {ANA: 3}
    assert store.lines_after({}, 10) == ([good, unknown, damaged], False)
    assert store.finding("2026-11", "fragment:F1").value("status") == "alive"


def test_a_line_that_is_no_entry_is_refused_with_its_number(nursery: Nursery) -> None:
    """Line 1 of a body is its header, so the second entry is line 3."""
    _, store = nursery
    ana = author(ANA, "ana")
    ana.write(ConditionSeen, "fragment:F1", "2026-11", status="alive")
    for junk in (b"not json", b'{"kind":"note_made"}', b'"text"', b"\xff\xfe"):
        with pytest.raises(BadFrame) as caught:
            store.receive([*lines(ana), junk], ANA)
        assert caught.value.line == 3
    assert store.heads() == {}


def test_the_office_rules_and_takes_the_ruling_back(nursery: Nursery) -> None:
    """A ruling that saw both closes the question; withdrawing it opens it again."""
    _, store = nursery
    ana, ben = author(ANA, "ana"), author(BEN, "ben")
    first = ana.write(ConditionSeen, "fragment:F1", "2026-11", status="alive")
    second = ben.write(ConditionSeen, "fragment:F1", "2026-11", status="lost")
    store.receive(lines(ana, ben), ANA)
    with store.office("sue") as office:
        ruling = office.write(RulingGiven, "fragment:F1", "2026-11", fact="status", value="alive", replaces=(first.id, second.id))
    settled = store.finding("2026-11", "fragment:F1").slots["status"]
    assert (settled.value, settled.open, settled.ruled) == ("alive", False, True)
    with store.office("sue") as office:
        office.write(EntryWithdrawn, "fragment:F1", "2026-11", target=ruling.id)
    assert store.finding("2026-11", "fragment:F1").slots["status"].open


def test_an_office_block_that_fails_keeps_nothing(nursery: Nursery) -> None:
    """Half a file of plantings would be worse than none."""
    _, store = nursery

    def write_half() -> None:
        with store.office("sue") as office:
            office.write(GenetRegistered, "genet:G1", name="One")
            office.write(GenetRegistered, "genet:G2", name="")

    with pytest.raises(ValidationError):
        write_half()
    assert store.heads() == {}
    with store.office("sue") as office:
        office.write(GenetRegistered, "genet:G1", name="One")
    assert list(store.heads().values()) == [1]


def test_others_get_what_they_lack_in_pieces(nursery: Nursery) -> None:
    """Writer by writer, in order, from where they are, with a word that there is more."""
    _, store = nursery
    ana, ben = author(ANA, "ana"), author(BEN, "ben")
    for number in range(7):
        ana.write(ConditionSeen, f"fragment:F{number}", "2026-11", status="alive")
        ben.write(ConditionSeen, f"fragment:F{number}", "2026-11", status="alive")
    store.receive(lines(ana), ANA)
    store.receive(lines(ben), BEN)
    got, more = store.lines_after({ANA: 5}, 4)
    assert (got, more) == (lines(ana)[5:] + lines(ben)[:2], True)
    got, more = store.lines_after({ANA: 7, BEN: 2}, 5)
    assert (got, more) == (lines(ben)[2:], False)
    assert store.lines_after({ANA: 7}, 99, size=1) == (lines(ben)[:1], True)
    assert store.lines_after({ANA: 7, BEN: 9}, 99) == ([], False)


def test_a_standing_follows_the_latest_survey_that_speaks(nursery: Nursery) -> None:
    """A withdrawn entry of the latest survey lets the earlier one's value return."""
    _, store = nursery
    ana = author(ANA, "ana")
    ana.write(FragmentPlanted, "fragment:F1", place="T01/1.1.1", genet="G1")
    ana.write(ConditionSeen, "fragment:F1", "2026-10", status="alive")
    late = ana.write(ConditionSeen, "fragment:F1", "2026-11", status="lost")
    moved = ana.write(FragmentMoved, "fragment:F1", "2026-11", place="T02/1.1.1", replaces=(late.id,))
    store.receive(lines(ana), ANA)
    assert store.standing("fragment:F1").value("status") == "lost"
    assert store.standing("fragment:F1").value("place") == "T02/1.1.1"
    undo = author(ANA, "ana", last=4)
    undo.write(EntryWithdrawn, "fragment:F1", "2026-11", target=late.id)
    undo.write(EntryWithdrawn, "fragment:F1", "2026-11", target=moved.id)
    store.receive(lines(undo), ANA)
    assert store.standing("fragment:F1").value("status") == "alive"
    assert store.standing("fragment:F1").value("place") == "T01/1.1.1"
    assert check_record(store).wrong == ()


def test_a_check_finds_what_was_tampered_with_and_mending_makes_it_good(nursery: Nursery) -> None:
    """The record is the truth; read tables can always be made from it again."""
    _, store = nursery
    ana = author(ANA, "ana")
    for number in range(20):
        ana.write(ConditionSeen, f"fragment:F{number}", "2026-11", status="alive")
    store.receive(lines(ana), ANA)
    assert check_record(store).wrong == ()
    table = FindingRow.__table__  # type: ignore[attr-defined]
    with writing(store.engine) as connection:
        connection.execute(table.update().where(table.c.subject == "fragment:F3").values(status="dead"))
        connection.execute(table.delete().where(table.c.subject == "fragment:F5"))
    wrong = check_record(store).wrong
    assert any("fragment:F3" in line for line in wrong)
    assert any("fragment:F5" in line and "missing" in line for line in wrong)
    mend(store)
    check = check_record(store)
    assert (check.wrong, check.entries, check.findings, check.standings) == ((), 20, 20, 20)


def test_a_code_enrols_one_tablet_once(nursery: Nursery) -> None:
    """Small letters and look-alikes are forgiven; a spent, wrong or withdrawn one is not."""
    _, store = nursery
    code, _ = new_code(store)
    made = enrol(store, code.lower().replace("0", "O"), "Blue tablet")
    assert who_holds(store, made.token) == made.writer
    assert [(one.writer, one.name) for one in list_tablets(store)] == [(made.writer, "Blue tablet")]
    with pytest.raises(NotAllowed, match="used already"):
        enrol(store, code, "Another")
    with pytest.raises(NotAllowed):
        enrol(store, "AAAAA-AAAAA", "Another")
    with pytest.raises(NotAllowed):
        who_holds(store, "nonsense")
    withdraw(store, made.writer)
    with pytest.raises(NotAllowed, match="withdrawn"):
        who_holds(store, made.token)


def test_what_a_push_looks_up_is_found_by_key(lite: Nursery) -> None:
    """An empty SQLite database has no statistics; without ours each coral would cost a reading of the whole record."""
    _, store = lite
    sought = {
        "SELECT raw FROM entry WHERE nursery=1 AND survey='s' AND subject IN ('a','b') AND set_aside IS NULL": "entry_group",
        "SELECT raw FROM entry WHERE nursery=1 AND writer='w' AND number>5 ORDER BY number": "number>?",
        "SELECT slots FROM finding WHERE nursery=1 AND survey='s' AND subject='a'": "subject=?",
        "SELECT slots FROM finding WHERE nursery=1 AND subject='a'": "finding_subject",
        "SELECT slots FROM finding WHERE nursery=1 AND survey='s' AND structure='T'": "finding_structure",
        "SELECT slots FROM finding WHERE nursery=1 AND survey='s' AND open > 0": "finding_open",
        "SELECT facts FROM standing WHERE nursery=1 AND subject IN ('a','b')": "subject=?",
        "SELECT facts FROM standing WHERE nursery=1 AND structure='T'": "standing_structure",
        "SELECT facts FROM standing WHERE nursery=1 AND genet='G'": "standing_genet",
        "SELECT facts FROM standing WHERE nursery=1 AND sort='structure'": "standing_sort",
    }
    with reading(store.engine) as connection:
        for query, key in sought.items():
            plan = " ".join(str(row) for row in connection.exec_driver_sql(f"EXPLAIN QUERY PLAN {query}"))
            assert key in plan, f"{query}: {plan}"
