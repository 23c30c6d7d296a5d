"""Many questions by one rule, taken back as one; a survey signed off, and what came after."""

from datetime import UTC, datetime

import pytest

from server.review.bulk import apply_rule, preview_rule, read_batch, take_batch_back
from server.review.closing import close_survey, count_late, list_late, look_over_closing, open_again, read_closing
from server.review.questions import count_questions
from server.settings import Settings
from server.store.checking import check_record
from server.store.record import RecordStore
from shared_schema.author import Author
from shared_schema.entries import ConditionSeen, FragmentPlanted, StructureHung, SurveyPlanned, write_entry
from shared_schema.errors import NotAllowed, NothingSuch, RecordError

Nursery = tuple[Settings, RecordStore]

SURVEY = "2026-11"


def say(store: RecordStore, writer: str, by: str, last: int = 0, basis: str = "tapped", **statuses: str) -> None:
    """What one diver said of some fragments, brought by a tablet."""
    author = Author(writer, last, by, lambda: datetime(2026, 11, 20, 9, tzinfo=UTC))
    for name, status in statuses.items():
        place = f"T01/1.1.{name[1:]}"
        author.write(ConditionSeen, f"fragment:{name}", SURVEY, status=status, basis=basis, seen_at=place)
    store.receive([write_entry(entry) for entry in author.written], writer)


@pytest.fixture
def asked(nursery: Nursery) -> RecordStore:
    """A survey in which Ana and Ben differ on four of five corals: by one step, by sign-off, and for good."""
    _, store = nursery
    with store.office("sue") as office:
        office.write(StructureHung, "structure:T01", design={"design": "tree"})
        office.write(
            SurveyPlanned, f"survey:{SURVEY}", name="November", opens="2026-11-01", closes="2026-11-30", structures=("T01",)
        )
        for number in range(1, 6):
            office.write(FragmentPlanted, f"fragment:F{number}", place=f"T01/1.1.{number}")
    say(store, "anata2", "ana", F1="alive", F2="alive", F3="lost", F5="alive")
    say(store, "anata2", "ana", last=4, basis="signed_off", F4="alive")
    say(store, "benta2", "ben", F1="fading", F2="dead", F3="alive", F4="preyed_on", F5="alive")
    assert count_questions(store, SURVEY) == 4
    return store


def test_a_rule_shows_what_it_touches_and_settles_just_that(asked: RecordStore) -> None:
    """Ana's sign-off row gives way to Ben's tap; the three where both tapped stay open."""
    preview = preview_rule(asked, SURVEY, "tapped")
    assert [(one.question.key.subject, one.value) for one in preview.touched] == [("fragment:F4", "preyed_on")]
    assert preview.left == 3
    apply_rule(asked, "sue", SURVEY, preview)
    assert count_questions(asked, SURVEY) == 3
    assert asked.finding(SURVEY, "fragment:F4").slots["status"].ruled


def test_one_step_apart_the_worse_counts(asked: RecordStore) -> None:
    """Alive and fading are neighbours; alive and dead, lost or preyed on are not."""
    preview = preview_rule(asked, SURVEY, "one-step")
    assert [(one.question.key.subject, one.value) for one in preview.touched] == [("fragment:F1", "fading")]


def test_a_batch_is_taken_back_as_one_by_who_gave_it(asked: RecordStore) -> None:
    """All its questions are as open as before; a second time nothing is left to take back."""
    preview = preview_rule(asked, SURVEY, "one-person", "ben")
    assert len(preview.touched) == 4
    name = apply_rule(asked, "sue", SURVEY, preview)
    assert count_questions(asked, SURVEY) == 0
    assert asked.finding(SURVEY, "fragment:F3").value("status") == "alive"
    with pytest.raises(NotAllowed):
        take_batch_back(asked, "otto", name)
    assert len(read_batch(asked, name).standing) == 4
    assert take_batch_back(asked, "sue", name) == 4
    assert take_batch_back(asked, "sue", name) == 0
    assert count_questions(asked, SURVEY) == 4
    assert read_batch(asked, name).standing == ()
    assert check_record(asked).wrong == ()


def test_what_came_meanwhile_is_not_settled_unseen(asked: RecordStore) -> None:
    """The preview no longer holds: nothing is written, and the supervisor looks again."""
    preview = preview_rule(asked, SURVEY, "tapped")
    say(asked, "cleta2", "cleo", F4="dead")
    before = asked.heads()
    with pytest.raises(RecordError, match="while you looked"):
        apply_rule(asked, "sue", SURVEY, preview)
    assert asked.heads() == before
    empty = preview_rule(asked, SURVEY, "one-person", "nobody")
    with pytest.raises(RecordError, match="settles nothing"):
        apply_rule(asked, "sue", SURVEY, empty)


def test_unknown_rules_and_batches_are_said_to_be(asked: RecordStore) -> None:
    """Whatever an address may hold."""
    with pytest.raises(NothingSuch):
        preview_rule(asked, SURVEY, "latest-wins")
    for name in ("", "x", "a-b-c", "office-1-1", "office-9-9", "office--1-2", f"office-{'9' * 40}-1"):
        with pytest.raises(NothingSuch):
            read_batch(asked, name)


def test_a_survey_is_signed_off_with_what_is_open_and_late_arrivals_show(asked: RecordStore) -> None:
    """They are kept and count; signing again says so anew."""
    _, shown = look_over_closing(asked, SURVEY)
    with pytest.raises(RecordError, match="while you looked"):
        close_survey(asked, "sue", SURVEY, "", shown._replace(questions=shown.questions + 1))
    closing = close_survey(asked, "sue", SURVEY, "Four are left for the next dive", shown)
    assert (closing.entry.questions, closing.entry.by) == (4, "sue")
    assert count_late(asked, SURVEY, closing) == 0
    with pytest.raises(RecordError, match="already"):
        close_survey(asked, "sue", SURVEY, "", shown)
    say(asked, "cleta2", "cleo", F5="dead")
    assert count_late(asked, SURVEY, closing) == 1
    assert [one.id for one in list_late(asked, SURVEY, closing, 0, 10)] == ["cleta2-1"]
    assert count_questions(asked, SURVEY) == 5
    again = close_survey(asked, "sue", SURVEY, "", shown._replace(questions=5))
    assert again.entry.replaces == (closing.entry.id,)
    assert count_late(asked, SURVEY, again) == 0


def test_only_who_signed_opens_a_survey_again(asked: RecordStore) -> None:
    """Afterwards it is as if nobody had signed."""
    close_survey(asked, "sue", SURVEY, "", look_over_closing(asked, SURVEY)[1])
    with pytest.raises(NotAllowed):
        open_again(asked, "otto", SURVEY)
    open_again(asked, "sue", SURVEY)
    assert read_closing(asked, SURVEY) is None
    with pytest.raises(NothingSuch):
        open_again(asked, "sue", SURVEY)
