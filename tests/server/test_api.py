"""What tablets call, on a real server."""

import gzip
import json
from datetime import UTC, datetime, timedelta

import httpx
import pytest

from server.store.tablets import enrol, list_tablets, new_code, withdraw
from shared_schema.author import Author
from shared_schema.entries import (
    ConditionSeen,
    SurveyPlanned,
    write_entry,
)
from shared_schema.wire import (
    MAX_BATCH,
    MAX_BODY,
    PROTOCOL,
    frame,
)
from tests.server.calling import Caller
from tests.server.running import running_full


def test_entries_go_up_and_others_come_down_in_one_round(caller: Caller) -> None:
    """Compressed both ways, byte for byte what was written."""
    with caller.store.office("sue") as office:
        office.write(SurveyPlanned, "survey:2026-11", name="November", opens="2026-11-01", closes="2026-11-30")
        planned = write_entry(office.written[0])
    ana = caller.author()
    ana.write(ConditionSeen, "fragment:F1", "2026-11", status="alive")
    mine = [write_entry(entry) for entry in ana.written]
    answer, lacking = caller.exchange(mine, heads={caller.me.writer: 1})
    assert (answer.stored, answer.known, answer.more) == (1, 0, False)
    assert answer.heads == {caller.me.writer: 1, office.writer: 1}
    assert lacking == [planned]
    nothing, lacking = caller.exchange([], heads=answer.heads)
    assert (nothing.stored, lacking) == (0, [])


def test_answers_are_compressed_only_for_those_who_take_it(caller: Caller) -> None:
    """A plain client can read along."""
    body = frame(caller.ask(), [])
    packed = caller.client.post("/api/exchange", content=body)
    assert packed.headers["content-encoding"] == "gzip"
    plain = caller.client.post("/api/exchange", content=gzip.decompress(body), headers={"Accept-Encoding": "identity"})
    assert "content-encoding" not in plain.headers
    assert json.loads(plain.text.splitlines()[0])["protocol"] == PROTOCOL


def test_protocol_versions_out_of_range_are_refused_politely(caller: Caller) -> None:
    """The detail says which side to update."""
    for version in (PROTOCOL - 1, PROTOCOL + 1):
        answer = caller.client.post("/api/exchange", content=frame(caller.ask(protocol=version), []))
        assert "update" in caller.refused(answer, "protocol-refused", 400).detail


def test_another_nurserys_tablet_gets_nothing(caller: Caller) -> None:
    """A wrong address must not mix two records."""
    answer = caller.client.post("/api/exchange", content=frame(caller.ask(nursery="elsewhere"), []))
    caller.refused(answer, "nothing-such", 404)


def test_a_tablet_cannot_call_itself_another(caller: Caller) -> None:
    """The token says who it is."""
    answer = caller.client.post("/api/exchange", content=frame(caller.ask(writer="other2"), []))
    caller.refused(answer, "not-allowed", 401)


def test_without_a_token_or_with_a_withdrawn_one_every_call_is_refused(caller: Caller) -> None:
    """Each route by itself."""
    calls = [("POST", "/api/exchange"), ("POST", "/api/identity"), ("POST", "/api/packs"), ("GET", "/api/packs/" + "0" * 64)]
    calls.append(("GET", "/api/offers"))
    calls += [
        ("GET", "/api/photos/" + "0" * 64),
        ("PUT", "/api/photos/" + "0" * 64 + "?offset=0&size=1"),
        ("GET", "/api/photos/" + "0" * 64 + "/bytes"),
    ]
    withdraw(caller.store, caller.me.writer)
    for method, path in calls:
        refused = caller.client.request(method, path)
        assert "withdrawn" in caller.refused(refused, "not-allowed", 401).detail, path
        anyone = httpx.request(method, caller.client.base_url.join(path))
        caller.refused(anyone, "not-allowed", 401)


def test_gaps_and_clashes_name_what_is_wrong(caller: Caller) -> None:
    """A client needs the number to go on from, or the id that clashes."""
    ana = caller.author()
    for number in range(3):
        ana.write(ConditionSeen, f"fragment:F{number}", "2026-11", status="alive")
    mine = [write_entry(entry) for entry in ana.written]
    gap = caller.refused(caller.client.post("/api/exchange", content=frame(caller.ask(), mine[1:])), "sequence-gap", 409)
    assert (gap.model_extra or {})["expected"] == 1
    caller.exchange(mine)
    other = [mine[0].replace(b"alive", b"dead")]
    clash = caller.refused(caller.client.post("/api/exchange", content=frame(caller.ask(), other)), "identity-clash", 409)
    assert (clash.model_extra or {})["entry_id"] == f"{caller.me.writer}-1"
    fresh = caller.client.post("/api/identity").json()
    assert fresh["writer"] != caller.me.writer


def test_junk_is_refused_and_said_where(caller: Caller) -> None:
    """Damaged gzip, no header, a line that is no entry, a bomb."""
    caller.refused(caller.client.post("/api/exchange", content=b"\x1f\x8bjunk"), "bad-frame", 400)
    caller.refused(caller.client.post("/api/exchange", content=b""), "bad-frame", 400)
    caller.refused(caller.client.post("/api/exchange", content=b"{}"), "bad-frame", 400)
    cut = frame(caller.ask(), [b'{"id":"' + caller.me.writer.encode() + b'-1"}'] * 50)[:-20]
    caller.refused(caller.client.post("/api/exchange", content=cut), "bad-frame", 400)
    line = caller.refused(caller.client.post("/api/exchange", content=frame(caller.ask(), [b"nothing"])), "bad-frame", 400)
    assert (line.model_extra or {})["line"] == 2
    bomb = gzip.compress(b"\0" * (MAX_BODY + 10))
    caller.refused(caller.client.post("/api/exchange", content=bomb), "limit-exceeded", 413)
    caller.refused(caller.client.post("/api/exchange", content=b"x" * (MAX_BODY + 10)), "limit-exceeded", 413)
    many = frame(caller.ask(), [b"{}"] * (MAX_BATCH + 1))
    caller.refused(caller.client.post("/api/exchange", content=many), "limit-exceeded", 413)
    caller.refused(caller.client.get("/api/nowhere"), "no-such-address", 404)
    caller.refused(caller.client.get("/api/exchange"), "no-such-method", 405)
    caller.refused(caller.client.post("/api/enrol", content=b"{"), "bad-request", 400)


@pytest.mark.parametrize("year", [1970, 2090])
def test_a_clock_that_lies_changes_nothing_and_is_reported(caller: Caller, year: int) -> None:
    """Times are for reading; the office sees how far off the tablet is."""
    wrong = datetime(year, 1, 1, tzinfo=UTC)
    author = Author(caller.me.writer, 0, "ana", lambda: wrong)
    author.write(ConditionSeen, "fragment:F1", "2026-11", status="bleached")
    answer, _ = caller.exchange([write_entry(entry) for entry in author.written], clock=wrong)
    assert caller.store.finding("2026-11", "fragment:F1").value("status") == "bleached"
    off = (wrong - datetime.now(UTC)) / timedelta(seconds=1)
    assert abs(answer.clock_off_s - off) < 60
    (tablet,) = list_tablets(caller.store)
    assert tablet.clock_off_s == answer.clock_off_s
    (stored,) = caller.store.entries_of("2026-11", "fragment:F1")
    assert stored.clock_off_s == answer.clock_off_s


def test_wrong_codes_are_slowed_down(caller: Caller) -> None:
    """Guessing codes gets nobody in."""
    ask = {"protocol": PROTOCOL, "code": "AAAA-AAAA", "name": "x"}
    answers = [httpx.post(f"{caller.client.base_url}/api/enrol", json=ask) for _ in range(25)]
    assert {answer.status_code for answer in answers} == {401, 429}
    caller.refused(answers[-1], "too-many-tries", 429)


def test_a_server_that_cannot_store_says_so_and_keeps_nothing(caller: Caller) -> None:
    """A full disk, here a database that may not grow, is an answer of 507, and the tablet keeps its entries."""
    ana = caller.author()
    for number in range(3000):
        ana.write(ConditionSeen, f"fragment:F{number}", "2026-11", status="alive")
    mine = [write_entry(entry) for entry in ana.written]
    with running_full(caller.settings) as url:
        answer = caller.client.post(f"{url}/api/exchange", content=frame(caller.ask(), mine))
        caller.refused(answer, "storage-failed", 507)
        assert caller.store.heads() == {}
    stored, _ = caller.exchange(mine)
    assert stored.stored == 3000


def test_a_spent_code_stays_spent(caller: Caller) -> None:
    """Of two tablets that show one code, one gets in."""
    code, _ = new_code(caller.store)
    enrol(caller.store, code, "first")
    answer = httpx.post(f"{caller.client.base_url}/api/enrol", json={"protocol": PROTOCOL, "code": code, "name": "second"})
    caller.refused(answer, "spent-code", 401)
