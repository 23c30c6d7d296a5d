"""What tablets call, on a real server."""

import gzip
import hashlib
import json
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from typing import Any

import httpx
import pytest

from server.settings import Settings
from server.store.record import RecordStore
from server.store.tablets import Credentials, enrol, list_tablets, new_code, withdraw
from shared_schema.author import Author
from shared_schema.entries import (
    ConditionSeen,
    FragmentPlanted,
    PageNotReached,
    PageSignedOff,
    StructureHung,
    SurveyPlanned,
    write_entry,
)
from shared_schema.wire import (
    MAX_BATCH,
    MAX_BODY,
    PROTOCOL,
    ExchangeAnswer,
    ExchangeAsk,
    PackHeader,
    Problem,
    frame,
    problem_slug,
    unframe,
)
from tests.server.running import running, running_full

Nursery = tuple[Settings, RecordStore]


@dataclass
class Caller:
    """A tablet by hand: an address, an identity, and what goes into requests."""

    client: httpx.Client
    store: RecordStore
    settings: Settings
    nursery: str
    me: Credentials

    def author(self, last: int = 0) -> Author:
        """Someone who writes on this tablet."""
        return Author(self.me.writer, last, "ana", lambda: datetime(2026, 11, 20, 9, tzinfo=UTC))

    def ask(self, **other: Any) -> ExchangeAsk:
        """A header that is right unless `other` says otherwise."""
        fields: dict[str, Any] = {
            "protocol": PROTOCOL,
            "nursery": self.nursery,
            "writer": self.me.writer,
            "heads": {},
            "clock": datetime.now(UTC),
        }
        return ExchangeAsk(**(fields | other))

    def exchange(self, lines: list[bytes], **other: Any) -> tuple[ExchangeAnswer, list[bytes]]:
        """One exchange that must succeed."""
        answer = self.client.post("/api/exchange", content=frame(self.ask(**other), lines))
        assert answer.status_code == 200, answer.text
        return unframe(answer.content, ExchangeAnswer)

    def refused(self, answer: httpx.Response, slug: str, status: int) -> Problem:
        """The problem details of an answer that must refuse."""
        assert answer.status_code == status, answer.text
        assert answer.headers["content-type"] == "application/problem+json"
        problem = Problem.model_validate_json(answer.content)
        assert problem_slug(problem) == slug
        assert problem.status == status
        return problem


@pytest.fixture
def caller(lite: Nursery) -> Iterator[Caller]:
    """An enrolled tablet and its server."""
    settings, store = lite
    with running(settings) as (url, _), httpx.Client(base_url=url) as client:
        code, _ = new_code(store)
        made = client.post("/api/enrol", json={"protocol": PROTOCOL, "code": code, "name": "Blue tablet"}).json()
        client.headers["Authorization"] = f"Bearer {made['token']}"
        yield Caller(client, store, settings, made["nursery"], Credentials(made["writer"], made["token"]))


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


def test_a_pack_holds_what_a_dive_needs_and_can_be_fetched_in_pieces(caller: Caller) -> None:
    """The structures asked for, what hangs there now and what the last survey found; not what lies on others."""
    with caller.store.office("sue") as office:
        office.write(SurveyPlanned, "survey:2026-11", name="November", opens="2026-11-01", closes="2026-11-30", structures=("T01",))
        for name in ("T01", "T02"):
            office.write(StructureHung, f"structure:{name}", design={"design": "tree"})
            office.write(FragmentPlanted, f"fragment:{name}-a", place=f"{name}/1.1.1", genet="G1")
        for survey in ("2026-09", "2026-10"):
            office.write(ConditionSeen, "fragment:T01-a", survey, status="alive")
    manifest = caller.client.post("/api/packs", json={"protocol": PROTOCOL, "survey": "2026-11"}).json()
    whole = caller.client.get(f"/api/packs/{manifest['pack']}").content
    assert hashlib.sha256(whole).hexdigest() == manifest["pack"]
    rest = caller.client.get(f"/api/packs/{manifest['pack']}", headers={"Range": "bytes=20-"})
    assert (rest.status_code, rest.content) == (206, whole[20:])
    header, lines = unframe(whole, PackHeader)
    assert header.heads == caller.store.heads()
    assert header.structures == ("T01",)
    about = sorted((json.loads(line)["subject"], json.loads(line).get("survey", "")) for line in lines)
    assert about == [("fragment:T01-a", ""), ("fragment:T01-a", "2026-10"), ("structure:T01", ""), ("survey:2026-11", "")]
    assert manifest["entries"] == len(lines) == header.entries
    answer = caller.client.post("/api/packs", json={"protocol": PROTOCOL, "survey": "2026-11", "structures": ["T09"]})
    assert "T09" in caller.refused(answer, "nothing-such", 404).detail
    caller.refused(caller.client.get("/api/packs/..%2f..%2fetc"), "no-such-address", 404)
    caller.refused(caller.client.get("/api/packs/" + "0" * 64), "nothing-such", 404)


def test_a_pack_says_of_each_page_what_the_last_survey_before_said(caller: Caller) -> None:
    """A crew learns where nobody got to last time, and nothing of structures that it did not ask for."""
    with caller.store.office("sue") as office:
        office.write(SurveyPlanned, "survey:2026-11", name="November", opens="2026-11-01", closes="2026-11-30")
        for name in ("T01", "T010"):
            office.write(StructureHung, f"structure:{name}", design={"design": "tree"})
            office.write(PageSignedOff, f"page:{name}/1", "2026-09", alive=20, marked=0, unseen=0)
            office.write(PageNotReached, f"page:{name}/1", "2026-10", reason="current")
            office.write(PageSignedOff, f"page:{name}/2", "2026-09", alive=20, marked=0, unseen=0)
    manifest = caller.client.post("/api/packs", json={"protocol": PROTOCOL, "survey": "2026-11", "structures": ["T01"]}).json()
    _, lines = unframe(caller.client.get(f"/api/packs/{manifest['pack']}").content, PackHeader)
    about = {(json.loads(line)["subject"], json.loads(line).get("survey", "")) for line in lines}
    assert {one for one in about if one[0].startswith("page:")} == {("page:T01/1", "2026-10"), ("page:T01/2", "2026-09")}


def test_a_tablet_learns_what_it_can_load(caller: Caller) -> None:
    """Every survey, the latest first, and every structure, with what people call them; nobody else is told."""
    with caller.store.office("sue") as office:
        for month in ("10", "11"):
            opens, closes = f"2026-{month}-01", f"2026-{month}-28"
            office.write(SurveyPlanned, f"survey:2026-{month}", name=month, opens=opens, closes=closes, structures=("T01",))
        for name in ("T01", "T02"):
            office.write(StructureHung, f"structure:{name}", name=f"Tree {name}", design={"design": "tree"})
    offers = caller.client.get("/api/offers").json()
    assert [(one["id"], one["name"], one["opens"], one["structures"]) for one in offers["surveys"]] == [
        ("2026-11", "11", "2026-11-01", ["T01"]),
        ("2026-10", "10", "2026-10-01", ["T01"]),
    ]
    assert offers["structures"] == [{"id": "T01", "name": "Tree T01"}, {"id": "T02", "name": "Tree T02"}]


def test_a_photo_arrives_in_pieces_and_counts_only_when_whole_and_right(caller: Caller) -> None:
    """A break costs a piece, damage costs the photo, and both are said."""
    picture = bytes(range(256)) * 40
    name = hashlib.sha256(picture).hexdigest()

    def put(offset: int, piece: bytes) -> httpx.Response:
        return caller.client.put(f"/api/photos/{name}", params={"offset": offset, "size": len(picture)}, content=piece)

    assert caller.client.get(f"/api/photos/{name}").json() == {"sha256": name, "have": 0, "complete": False}
    assert put(0, picture[:4000]).json()["have"] == 4000
    assert put(0, picture[:4000]).json()["have"] == 4000
    assert put(9000, picture[9000:]).json()["have"] == 4000
    caller.refused(caller.client.get(f"/api/photos/{name}/bytes"), "nothing-such", 404)
    assert put(4000, picture[4000:]).json() == {"sha256": name, "have": len(picture), "complete": True}
    assert put(0, picture[:10]).json()["complete"]
    assert caller.client.get(f"/api/photos/{name}/bytes").content == picture
    wrong = "0" * 64
    bad = caller.client.put(f"/api/photos/{wrong}", params={"offset": 0, "size": 3}, content=b"abc")
    caller.refused(bad, "hash-mismatch", 422)
    assert caller.client.get(f"/api/photos/{wrong}").json()["have"] == 0
    caller.refused(caller.client.get("/api/photos/nonsense"), "bad-id", 400)


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
