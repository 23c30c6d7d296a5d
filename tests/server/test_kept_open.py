"""A supervisor looks and leaves a question open, with a reason: that settles nothing, and stands until something else comes."""

from collections.abc import Iterator
from pathlib import Path

import pytest

from mobile.store import Store
from mobile.tasks import tasks_of
from server.review.bulk import preview_rule
from server.review.closing import close_survey, list_kept, look_over_closing, read_closing
from server.review.questions import Key, count_questions, list_questions, read_question
from server.review.rulings import give_ruling, keep_open, take_ruling_back
from server.store.checking import check_record
from server.store.record import RecordStore
from shared_schema.entries import NoteMade, SurveySignedOff
from shared_schema.errors import NotAllowed, RecordError, SchemaError
from tests.server.conftest import Nursery
from tests.server.running import running
from tests.server.small_nursery import NOW, SITE_MORNING, SmallNursery, fill
from tests.server.visitor import Visitor, texts

ONE = "fragment:T1-001"
QUESTIONS = f"/surveys/{NOW}/questions"
WHY = "both photos are blurred: look at the tie"


@pytest.fixture
def boats(nursery: Nursery) -> SmallNursery:
    """The small nursery, on each database."""
    return fill(nursery[1])


def leave(store: RecordStore, by: str = "ines", why: str = WHY) -> None:
    """Keep the question about T1-001's condition open, with all of it in sight."""
    question = read_question(store, NOW, ONE, "status")
    keep_open(store, by, question, question.shown, why)


def listed(store: RecordStore) -> list[tuple[str, bool]]:
    """(subject, kept) of the open questions, as they are listed."""
    return [(key.subject, key.kept) for key in list_questions(store, NOW)]


def notes(store: RecordStore) -> list[NoteMade]:
    """The notes on T1-001 in this survey."""
    return [one.entry for one in store.entries_of(NOW, ONE) if isinstance(one.entry, NoteMade)]


def test_what_is_kept_open_is_open_and_stands_last(nursery: Nursery, boats: SmallNursery) -> None:
    """Nothing is settled, every statement is as it was, and the others come first."""
    _, store = nursery
    assert boats.ana.author.writer != boats.ben.author.writer
    before = read_question(store, NOW, ONE, "status")
    leave(store)
    after = read_question(store, NOW, ONE, "status")
    assert after.open
    assert after.slot == before.slot
    assert after.kept is not None
    assert (after.kept.holds, after.kept.entry.text, after.kept.entry.by) == (True, WHY, "ines")
    assert set(after.kept.entry.replaces) == set(before.shown)
    assert listed(store) == [("fragment:T1-006", False), ("fragment:T1-010", False), (ONE, True)]
    assert count_questions(store, NOW) == 3
    assert check_record(store).wrong == ()


def test_another_voice_puts_it_back_among_those_to_look_at(nursery: Nursery, boats: SmallNursery) -> None:
    """The note speaks for what its author had seen; it stays in sight, and another note with all in sight holds again."""
    _, store = nursery
    leave(store)
    boats.ben.saw("T1-001", "T1/1.1.1", "dead", replaces=())
    boats.ben.back()
    question = read_question(store, NOW, ONE, "status")
    assert question.kept is not None
    assert not question.kept.holds
    assert listed(store)[0] == (ONE, False)
    leave(store, "cleo", "three words by now")
    assert listed(store)[-1] == (ONE, True)


def test_it_is_taken_back_by_its_author_alone(nursery: Nursery, boats: SmallNursery) -> None:
    """Twice is once; then the question is as it was before."""
    _, store = nursery
    del boats
    leave(store)
    (note,) = notes(store)
    with pytest.raises(NotAllowed):
        take_ruling_back(store, "cleo", note.id)
    take_ruling_back(store, "ines", note.id)
    assert take_ruling_back(store, "ines", note.id).kept is None
    assert (ONE, False) in listed(store)


def test_it_takes_a_reason_and_the_same_again_is_written_once(nursery: Nursery, boats: SmallNursery) -> None:
    """A blank is none. A better reason of the same person's takes the place of the first."""
    _, store = nursery
    del boats
    for blank in ("", "  "):
        with pytest.raises(SchemaError, match="Say why"):
            leave(store, why=blank)
    leave(store)
    leave(store)
    assert len(notes(store)) == 1
    leave(store, why="the slate is unreadable")
    question = read_question(store, NOW, ONE, "status")
    assert question.kept is not None
    assert question.kept.entry.text == "the slate is unreadable"
    assert len(store.finding(NOW, ONE).slots["note"].heads) == 1


def test_rules_leave_alone_what_somebody_kept_open(nursery: Nursery, boats: SmallNursery) -> None:
    """They would settle all three; with one kept open they settle two and say so."""
    _, store = nursery
    del boats
    leave(store)
    preview = preview_rule(store, NOW, "one-person", "ben")
    assert ONE not in [one.question.key.subject for one in preview.touched]
    assert (len(preview.touched), preview.left, preview.kept) == (2, 1, 1)


def test_what_is_settled_meanwhile_is_not_kept_open(nursery: Nursery, boats: SmallNursery) -> None:
    """Nothing is written on a question that is closed; one's ruling afterwards closes what one kept open."""
    _, store = nursery
    del boats
    shown = read_question(store, NOW, ONE, "status")
    give_ruling(store, "cleo", shown, "lost", shown.shown, None)
    assert not keep_open(store, "ines", shown, shown.shown, WHY).open
    assert notes(store) == []
    other = read_question(store, NOW, "fragment:T1-006", "status")
    keep_open(store, "ines", other, other.shown, WHY)
    assert not give_ruling(store, "ines", other, "sick", other.shown, None).open
    assert Key(NOW, "fragment:T1-006", "status") not in [Key(k.survey, k.subject, k.fact) for k in list_questions(store, NOW)]


def test_a_sign_off_tells_what_was_kept_open_from_what_nobody_looked_at(nursery: Nursery, boats: SmallNursery) -> None:
    """It holds fast which questions and why, whatever becomes of them later; what was kept open meanwhile stops the signing."""
    _, store = nursery
    _, before = look_over_closing(store, NOW)
    assert (before.questions, before.unasked, before.kept) == (3, 3, ())
    leave(store)
    with pytest.raises(RecordError, match="while you looked"):
        close_survey(store, "ines", NOW, "", before)
    _, shown = look_over_closing(store, NOW)
    assert (shown.questions, shown.unasked, shown.kept) == (3, 2, tuple(note.id for note in list_kept(store, NOW)))
    closing = close_survey(store, "ines", NOW, "", shown)
    assert closing.kept is not None
    assert [(note.subject, note.fact, note.text, note.by) for note in closing.kept] == [(ONE, "status", WHY, "ines")]
    boats.ben.saw("T1-001", "T1/1.1.1", "dead", replaces=())
    boats.ben.back()
    assert list_kept(store, NOW) == ()
    assert read_closing(store, NOW) == closing
    assert check_record(store).wrong == ()


def test_a_sign_off_from_before_these_were_told_apart_is_still_read(office: tuple[RecordStore, SmallNursery, Visitor]) -> None:
    """It says how many questions there were, and nothing of which were kept open."""
    store, _, ines = office
    leave(store)
    with store.office("ines") as author:
        author.write(
            SurveySignedOff, f"survey:{NOW}", NOW, questions=3, unseen=1, not_reached=2, unsigned=4, unlikely=0, heads=store.heads()
        )
    closing = read_closing(store, NOW)
    assert closing is not None
    assert closing.kept is None
    page = texts(ines.see(f"/surveys/{NOW}/sign-off"))
    assert "Open then: 3 questions, 1 not looked at, 2 pages not reached, 4 pages not signed off, 0 unlikely entries" in page
    assert "kept open then" not in page


def test_the_sign_off_and_the_digest_list_what_is_kept_open_apart(office: tuple[RecordStore, SmallNursery, Visitor]) -> None:
    """The page before signing counts and names it with the reason, and so do the sign-off afterwards and the digest."""
    store, _, ines = office
    address = f"/surveys/{NOW}/sign-off"
    assert "kept open" not in texts(ines.see(address))
    leave(store)
    page = texts(ines.see(address))
    assert "2 open questions" in page
    assert "1 question looked at and kept open" in page
    assert f"Kept open : 1 T1-001: condition “{WHY}” Inés" in page.replace("open: 1", "open : 1").replace("Condition", "condition")
    digest = texts(ines.see(f"/surveys/{NOW}/digest"))
    assert "3 open questions , 1 of them looked at and kept open" in digest
    assert digest.index("T1-006: ") < digest.index("T1-010: ") < digest.index("Kept open") < digest.index("T1-001: ")
    (form,) = ines.forms(address, address)
    assert ines.send(form, statement="one tie is left for December").status_code == 303
    page = texts(ines.see(address))
    assert "Open then: 3 questions" in page
    assert f"1 of the questions looked at and kept open then: T1-001: Condition “{WHY}” Inés" in page


@pytest.fixture
def office(lite: Nursery) -> Iterator[tuple[RecordStore, SmallNursery, Visitor]]:
    """Inés at the pages."""
    settings, store = lite
    boats = fill(store)
    with running(settings) as (url, _):
        yield store, boats, Visitor(url, store)


def test_on_the_pages_without_scripts(office: tuple[RecordStore, SmallNursery, Visitor]) -> None:
    """The same form sends it; without a reason it comes back with all that was chosen; the list can leave it out."""
    store, boats, ines = office
    address = f"{QUESTIONS}/fragment/T1-001/status"
    form = ines.forms(address, address)[0]
    refused = ines.send(form, take="open")
    assert refused.status_code == 422
    assert "Say why it stays open" in texts(refused.text)
    assert 'value="open" required checked' in refused.text
    answer = ines.send(form, take="open", reason=WHY)
    assert answer.status_code == 303
    page = texts(ines.see(address))
    assert "Looked at, and kept open" in page
    assert WHY in page
    assert "T1-001" not in texts(ines.see(f"{QUESTIONS}?show=new")).partition("Your last word")[2].partition("Take it back")[2]
    assert "T1-006" not in texts(ines.see(f"{QUESTIONS}?show=kept"))
    (note,) = notes(store)
    assert ines.get(f"/rulings/{note.id}").headers["location"] == address
    boats.ben.saw("T1-001", "T1/1.1.1", "dead", replaces=())
    boats.ben.back()
    assert "Something came since." in texts(ines.see(address))
    reader = Visitor(ines.url, store, "rita", "reader")
    assert WHY in texts(reader.see(address))
    assert not reader.forms(address, address)


def test_the_next_dive_finds_it_on_its_list(nursery: Nursery, boats: SmallNursery, tmp_path: Path) -> None:
    """A tablet that takes the record shows the question among what waits, and the reason with the coral."""
    _, store = nursery
    del boats
    leave(store)
    with Store(tmp_path / "tablet.sqlite") as tablet:
        tablet.take(store.lines_after({}, 10_000)[0])
        waiting = tasks_of(tablet, "T1", "2026-12", SITE_MORNING.date()).tasks
        assert ("T1/1.1.1", "status") in [(task.where, task.said) for task in waiting if task.sort == "question"]
        finding = tablet.finding(NOW, ONE)
        assert finding is not None
        assert finding.value("note") == [{"text": WHY, "fact": "status"}]
