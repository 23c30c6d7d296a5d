"""After a sync: a receipt, what is only here, what each dive sent, and what came from others."""

from pathlib import Path

from mobile.day import Day
from mobile.news import News
from mobile.receipt import Receipt, send_and_fetch, standstill
from mobile.tally import tally_visits
from shared_schema.entries import ConditionSeen, write_entry
from tests.mobile.fake_server import no_connection
from tests.mobile.nursery import NOW, SURVEY, Ticking, office_author, tablet
from tests.mobile.syncing import a_server, syncing


def test_a_receipt_is_given_for_what_the_server_said_it_holds(tmp_path: Path) -> None:
    """Not for what was sent: where nobody answers there is none, and all is still only here."""
    with tablet(tmp_path / "a.sqlite") as store:
        server = a_server()
        day = Day(store, Ticking())
        day.choose_survey(SURVEY)
        day.board(("ana",))
        day.recorder().mark("T01/1.1.1", status="sick")
        server.faults = [no_connection] * 6
        assert send_and_fetch(store, syncing(store, server), Ticking()).state == "unreachable"
        assert Receipt.read(store.settings) is None
        assert (standstill(store).entries, standstill(store).safe) == (1, False)
        send_and_fetch(store, syncing(store, server), Ticking())
        receipt = Receipt.read(store.settings)
        assert receipt is not None
        assert (receipt.sent, receipt.number, receipt.heads) == (1, 1, server.heads())
        assert standstill(store).safe


def test_each_dive_says_what_was_saved_and_what_was_sent(tmp_path: Path) -> None:
    """The latest first, what belongs to none last; its own entry and its note count to it."""
    with tablet(tmp_path / "a.sqlite") as store:
        server = a_server()
        day = Day(store, Ticking())
        day.choose_survey(SURVEY)
        day.board(("ana",))
        day.recorder().note("T01", "before any dive")
        day.recorder().log_dive(place="North reef", went_in=NOW)
        first = day.today.visit
        day.recorder().mark("T01/1.1.1", status="sick")
        syncing(store, server).run()
        day.new_dive()
        day.recorder().log_dive()
        day.recorder().note(f"visit:{day.today.visit}", "calm")
        assert [(one.visit, one.place, one.went_in, one.saved, one.sent) for one in tally_visits(store)] == [
            (day.today.visit, "", None, 2, 0),
            (first, "North reef", NOW, 2, 2),
            ("", "", None, 1, 1),
        ]


def test_news_is_what_others_entered_since_it_was_seen(tmp_path: Path) -> None:
    """Not what the pack brought, nor one's own, nor rows that came by signing off; seen once, it is gone, restart or not."""
    path = tmp_path / "a.sqlite"
    with tablet(path) as store:
        server = a_server()
        syncing(store, server).load_pack(SURVEY, ["T01"])
        ben = office_author(writer="b2m9xw")
        ben.by = "ben"
        ben.write(ConditionSeen, "fragment:F-T01-1", SURVEY, status="lost")
        ben.write(ConditionSeen, "fragment:F-T01-2", SURVEY, status="alive", basis="signed_off")
        ben.write(ConditionSeen, "fragment:F-T02-1", SURVEY, status="lost")
        server.entries["b2m9xw"] = [write_entry(entry) for entry in ben.written]
        send_and_fetch(store, syncing(store, server), Ticking())
    with tablet(path) as store:
        assert [(one.structure, one.where, one.fragment) for one in News(store).all] == [("T01", "T01/1.1.1", "F-T01-1")]
        News(store).seen()
    with tablet(path) as store:
        assert News(store).all == ()
