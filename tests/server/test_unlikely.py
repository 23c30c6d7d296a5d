"""What is unlikely in a survey: the office lists what the tablet asks a note for, and a word that it is so settles it."""

import re

import pytest

from mobile.chart import draw_chart
from mobile.signing import unlikely_page
from server.review.explaining import count_doubts, explain_doubt, read_doubts
from server.review.questions import read_question
from server.review.rulings import give_ruling
from server.review.unlikely import doubts_in
from server.store.engine import reading
from server.store.record import RecordStore
from shared_schema.entries import NoteMade, read_entry
from shared_schema.errors import RecordError, SchemaError
from shared_schema.fold import Record
from tests.server.conftest import Nursery
from tests.server.odd_survey import UNLIKELY, make_unlikely
from tests.server.running import running
from tests.server.small_nursery import BEFORE, NOW, SmallNursery, fill
from tests.server.visitor import Visitor, texts

PAGE = f"/surveys/{NOW}/unlikely"


@pytest.fixture
def unlikely(nursery: Nursery) -> tuple[RecordStore, SmallNursery]:
    """The small nursery with what is unlikely in it."""
    _, store = nursery
    boats = fill(store)
    make_unlikely(boats)
    return store, boats


def listed(store: RecordStore, settled: bool | None = None) -> set[tuple[str, str]]:
    """What the office lists, by sort and place."""
    return {
        (one.unlikely.sort, one.unlikely.where)
        for one in read_doubts(store, NOW, 0, 100).some
        if settled is None or one.settled == settled
    }


def test_the_office_lists_what_the_tablet_asks_a_note_for(unlikely: tuple[RecordStore, SmallNursery]) -> None:
    """The same entries, folded on a tablet and judged there page by page, give the same; haste only the tablet sees itself."""
    store, _ = unlikely
    assert listed(store) == UNLIKELY
    record = Record()
    record.add(read_entry(line) for line in store.lines_after({}, 10_000)[0])
    by_subject = {subject: tuple(record.of_subject(subject)) for subject in record.standings}
    asked = set()
    for structure, pages in (("T1", "1234"), ("L1", "12"), ("B1", "12")):
        mine = {subject: found for subject, found in by_subject.items() if f":{structure}" in subject}
        chart = draw_chart(structure, mine)
        asked |= {(one.sort, one.where) for page in pages for one in unlikely_page(chart, f"{structure}/{page}", NOW)}
    assert asked == UNLIKELY - {("signed_in_seconds", "B1/1")}
    with reading(store.engine) as connection:
        assert doubts_in(connection, store.nursery, BEFORE) == []


def test_a_note_about_the_entry_or_the_signature_settles_it(unlikely: tuple[RecordStore, SmallNursery]) -> None:
    """As the crew writes it on the tablet: about the page's signature, for all that is unlikely there; other notes do not."""
    store, boats = unlikely
    signature = next(one for one in boats.ana.author.written if one.subject == "page:T1/1" and one.survey == NOW)
    boats.ana.author.write(NoteMade, "page:T1/1", NOW, text="a clear day")
    boats.ana.back()
    assert count_doubts(store, NOW) == (4, 4)
    boats.ana.author.write(NoteMade, "page:T1/1", NOW, text="found again behind the arm", about=signature.id)
    boats.ana.back()
    assert listed(store, settled=True) == {("lost_then_living", "T1/1.4.5")}
    assert count_doubts(store, NOW) == (3, 4)


def test_the_office_says_that_it_is_so_and_takes_that_back(nursery: Nursery, unlikely: tuple[RecordStore, SmallNursery]) -> None:
    """On the page, by the form of each; the one who said so can take it back, and it waits again."""
    store, _ = unlikely
    with running(nursery[0]) as (url, _):
        ines = Visitor(url, store)
        read = texts(ines.see(PAGE))
        for said in (
            "4 of 4 wait for a word",
            "nothing marked on this page, where 2026-10 had 12",
            "signed off within five seconds",
            "Ana Crew",
        ):
            assert said in read
        forms = {dict(form.hidden)["subject"]: form for form in ines.forms(PAGE, "unlikely")}
        assert ines.send(forms["fragment:T1-020"], text="It is so: the tag was read.").status_code == 303
        assert ines.send(forms["page:B1/1"], text=" ").status_code == 409
        read = texts(ines.see(PAGE))
        assert "3 of 4 wait for a word" in read
        assert "“It is so: the tag was read.” Inés Office" in read
        (back,) = ines.forms(PAGE, "taken-back")
        assert Visitor(url, store, "otto", "supervisor").send(back).status_code == 403
        assert ines.send(back).status_code == 303
        assert count_doubts(store, NOW) == (4, 4)
        reader = Visitor(url, store, "rita", "reader")
        assert reader.forms(PAGE, "unlikely") == []


def test_what_a_page_had_before_is_one_link_away(nursery: Nursery, unlikely: tuple[RecordStore, SmallNursery]) -> None:
    """The twelve that were marked on it in the survey before, and no others."""
    store, _ = unlikely
    with running(nursery[0]) as (url, _):
        ines = Visitor(url, store)
        address = f"/surveys/{BEFORE}/structures/L1?status=marked&on=2#table"
        assert f'<a href="{address.replace("&", "&amp;")}">nothing marked' in ines.see(PAGE)
        rows = re.findall(r'<tr id="p-([^"]+)"', ines.see(address.partition("#")[0]))
        assert len(rows) == 12
        assert all(path.startswith("2.") for path in rows)


def test_nobodys_reason_is_invented(nursery: Nursery, unlikely: tuple[RecordStore, SmallNursery]) -> None:
    """The field is empty and needs words: a hint says which, and is not sent; without words nothing is taken down."""
    store, _ = unlikely
    with running(nursery[0]) as (url, _):
        ines = Visitor(url, store)
        fields = re.findall(r'<input name="text"[^>]*>', ines.see(PAGE))
        assert len(fields) == len(UNLIKELY)
        for field in fields:
            assert 'placeholder="How you know, in your own words"' in field
            assert " required" in field
            assert "value=" not in field
        before = store.heads()
        assert [ines.send(form, text="").status_code for form in ines.forms(PAGE, "unlikely")] == [409] * len(UNLIKELY)
        assert store.heads() == before


def test_what_was_said_anew_meanwhile_is_not_waved_through(unlikely: tuple[RecordStore, SmallNursery]) -> None:
    """Ana corrects the coral to lost while the supervisor reads: there is nothing to explain any more."""
    store, boats = unlikely
    (doubt,) = (one for one in read_doubts(store, NOW, 0, 100).some if one.subject == "fragment:T1-020")
    boats.ana.saw("T1-020", "T1/1.4.5", "lost", replaces=doubt.about)
    boats.ana.back()
    before = store.heads()
    with pytest.raises(RecordError, match="look again"):
        explain_doubt(store, "ines", NOW, doubt.subject, doubt.about[0], "It is so.")
    with pytest.raises(SchemaError, match="4000"):
        explain_doubt(store, "ines", NOW, doubt.subject, doubt.about[0], "x" * 4001)
    assert store.heads() == before
    assert listed(store) == UNLIKELY - {("lost_then_living", "T1/1.4.5")}


def test_a_ruling_settles_it_too(unlikely: tuple[RecordStore, SmallNursery]) -> None:
    """Whoever ruled that the coral lives has said that it is so."""
    store, _ = unlikely
    question = read_question(store, NOW, "fragment:T1-020", "status")
    give_ruling(store, "ines", question, "fading", question.shown, "seen on the photo")
    assert listed(store, settled=True) == {("lost_then_living", "T1/1.4.5")}
