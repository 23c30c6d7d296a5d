"""How long the office waits for each page: 100,000 fragments looked at in 20 surveys, on SQLite.

Run by hand: `pytest tests/bench/test_office_pages.py -s`. What is held is the time of the processor, of the server and of
the browser that asks, compression included: on a quiet machine it is the time on the clock, which stands beside it. The first
asking, of a server that was just started, stands there too. The record takes a quarter of an hour to make
and is kept in the folder that CROSSTREE_BENCH names, or in one for temporary files, until what makes it changes.
CROSSTREE_BENCH_ONLY measures only addresses that contain it.
"""

import hashlib
import os
import statistics
import tempfile
import time
from collections.abc import Iterator, Mapping
from pathlib import Path
from typing import Final, NamedTuple

import httpx
import pytest
from sqlalchemy import select
from sqlmodel import col

from server.access.roles import ROLES, ROUTES
from server.pages.addresses import to_case
from server.review.discrepancies import list_discrepancies
from server.review.flows import COLUMNS
from server.review.questions import list_questions
from server.store.engine import reading
from server.store.models import EntryRow
from server.store.record import RecordStore
from shared_schema.discrepancies import Discrepancy
from shared_schema.entries import RulingGiven, read_entry
from shared_schema.ids import split_subject
from tests.bench import office_record as made_by
from tests.bench import office_talk
from tests.bench.office_record import SURVEYS, office_record
from tests.server.running import running
from tests.server.visitor import Visitor

LIMIT_MS: Final = 200.0
MEASURES: Final = ("?by=genet", "?by=age", "?by=growth", "?by=seen")
SOUGHT: Final = ("004711", "F0047", "G07", "ana", "T0123", "t0123+3+2+4", "row", "spur", "7")
TIMES: Final = 5
NEWEST, OLDER = SURVEYS[-1], SURVEYS[-5]


class Asked(NamedTuple):
    """A page that was asked for: the first time, and the medians of several more, in ms; what came over the wire, in bytes."""

    address: str
    first: float
    ms: float
    clock: float
    sent: int


@pytest.fixture(scope="module")
def office() -> Iterator[tuple[RecordStore, Visitor]]:
    """A server over the large record, and a supervisor who signed in."""
    source = b"".join(Path(part.__file__).read_bytes() for part in (made_by, office_talk) if part.__file__)
    kept = Path(os.environ.get("CROSSTREE_BENCH") or tempfile.gettempdir()) / "crosstree-bench"
    settings, store = office_record(kept / hashlib.sha256(source).hexdigest()[:12])
    with running(settings) as (url, _):
        yield store, Visitor(url, store)
    store.engine.dispose()


def examples(store: RecordStore) -> Mapping[str, list[str]]:
    """Addresses of each route: with a name for each part, and with whatever makes the page another one."""
    return {
        "GET /": ["/", "/?page=2"],
        "GET /account": ["/account"],
        "GET /plan": ["/plan"],
        "GET /surveys/{survey}/plan": [f"/surveys/{NEWEST}/plan"],
        "GET /surveys/{survey}/coverage": [f"/surveys/{survey}/coverage" for survey in (NEWEST, OLDER)],
        "GET /surveys/{survey}/unlikely": [f"/surveys/{survey}/unlikely" for survey in (NEWEST, OLDER)],
        "GET /surveys/{survey}": [f"/surveys/{NEWEST}", f"/surveys/{OLDER}?page=7"],
        "GET /surveys/{survey}/structures/{structure}": [
            f"/surveys/{OLDER}/structures/T0123",
            *(f"/surveys/{NEWEST}/structures/T0123{by}" for by in ("", *MEASURES)),
        ],
        "GET /surveys/{survey}/map": [f"/surveys/{NEWEST}/map{by}" for by in ("", *MEASURES)],
        "GET /surveys/{survey}/positions": [f"/surveys/{NEWEST}/positions", f"/surveys/{OLDER}/positions"],
        "GET /surveys/{survey}/digest": [f"/surveys/{NEWEST}/digest", f"/surveys/{OLDER}/digest"],
        "GET /surveys/{survey}/stock/{column}": [f"/surveys/{NEWEST}/stock/{column}" for column in COLUMNS]
        + [f"/surveys/{NEWEST}/stock/closing?genet=G07"],
        "GET /sites/{site}": ["/sites/spur"],
        "GET /positions/{address:path}": ["/positions/T0123/3.2.4"],
        "GET /genets": ["/genets"],
        "GET /genets/{name}": ["/genets/G07", "/genets/G07?state=dead"],
        "GET /structures": ["/structures"],
        "GET /structures/{structure}": ["/structures/T0120"],
        "GET /crew/{person}": ["/crew/ana"],
        "GET /search": [f"/search?q={text}" for text in SOUGHT],
        "GET /live": ["/live"],
        "GET /discrepancies": ["/discrepancies"],
        "GET /set-aside": ["/set-aside"],
        "GET /tablets": ["/tablets"],
        "GET /people": ["/people"],
        "GET /people/{person}": ["/people/ines"],
        "GET /trail": ["/trail"],
        **_about_questions(store),
    }


def _about_questions(store: RecordStore) -> dict[str, list[str]]:
    """Addresses that need something of the record: a question, a ruling, a batch, a photo."""
    key = list_questions(store, NEWEST)[0]
    name = split_subject(key.subject)[1]
    with reading(store.engine) as connection:
        raw = connection.execute(
            select(col(EntryRow.raw)).where(
                col(EntryRow.nursery) == store.nursery, col(EntryRow.survey) == OLDER, col(EntryRow.writer).like("office%")
            )
        ).scalars()
        ruling = next(entry for line in raw if isinstance(entry := read_entry(line), RulingGiven))
    photo = hashlib.sha256(office_talk.PICTURE.read_bytes()).hexdigest()
    return {
        "GET /surveys/{survey}/questions": [f"/surveys/{NEWEST}/questions"],
        "GET /surveys/{survey}/structures/{structure}/questions": [f"/surveys/{NEWEST}/structures/{key.structure}/questions"],
        "GET /surveys/{survey}/questions/{sort}/{name:path}/{fact}": [f"/surveys/{NEWEST}/questions/fragment/{name}/{key.fact}"],
        "GET /surveys/{survey}/rules": [f"/surveys/{NEWEST}/rules", f"/surveys/{NEWEST}/rules?rule=tapped"],
        "GET /surveys/{survey}/sign-off": [f"/surveys/{NEWEST}/sign-off", f"/surveys/{OLDER}/sign-off"],
        "GET /surveys/{survey}/entries/{sort}/{name:path}": [f"/surveys/{NEWEST}/entries/fragment/{name}"],
        "GET /fragments/{name}": [f"/fragments/{name}", "/fragments/F004707"],
        "GET /rulings/{ruling}": [f"/rulings/{ruling.id}"],
        "GET /rulings/batches/{batch}": [f"/rulings/batches/{ruling.batch}"],
        "GET /corrections/{correction}": [f"/corrections/{ruling.batch}"],
        "GET /discrepancies/{sort}/{survey}/{names}": [to_case(case) for case in _one_of_each(list_discrepancies(store))],
        "GET /fragments/{name}/correct": [
            f"/fragments/{name}/correct",
            f"/fragments/{name}/correct?fact={key.fact}&survey={NEWEST}",
        ],
        "GET /photos/{sha256}": [f"/photos/{photo}"],
    }


def _one_of_each(cases: list[Discrepancy]) -> list[Discrepancy]:
    """The first of each sort."""
    return list({case.sort: case for case in reversed(cases)}.values())


def ask(client: httpx.Client, address: str) -> Asked:
    """Ask once for nothing, then several times; of a page that goes on, how long its beginning takes."""
    first, *asked = [_ask_once(client, address) for _ in range(TIMES + 1)]
    worked, clock = (statistics.median(one[part] for one in asked) for part in (0, 1))
    return Asked(address, first[0], worked, clock, asked[-1][2])


def _ask_once(client: httpx.Client, address: str) -> tuple[float, float, int]:
    """Milliseconds of the processor and on the clock, and bytes."""
    started, worked = time.perf_counter(), time.process_time()
    sent = 0
    with client.stream("GET", address) as answer:
        assert answer.status_code < 400, (address, answer.status_code)
        for part in answer.iter_raw():
            sent += len(part)
            if answer.headers["content-type"].startswith("text/event-stream"):
                break
    return (time.process_time() - worked) * 1000, (time.perf_counter() - started) * 1000, sent


def test_every_page_of_the_office_answers_within_200_ms(office: tuple[RecordStore, Visitor]) -> None:
    """Every route that takes signing in, complete by construction: one without an example fails it."""
    store, visitor = office
    routes = {route for route, who in ROUTES.items() if route.startswith("GET") and who in ROLES}
    addresses = examples(store)
    assert routes == set(addresses)
    only = os.environ.get("CROSSTREE_BENCH_ONLY", "")
    with httpx.Client(base_url=visitor.url, cookies=visitor.cookies, timeout=120) as client:
        asked = [ask(client, one) for several in addresses.values() for one in several if only in one]
    load = os.getloadavg()[0]
    print(f"\nload average {load:.1f}")  # noqa: T201
    print("processor  on the clock     first         sent")  # noqa: T201
    for one in sorted(asked, key=lambda one: -one.ms):
        print(f"{one.ms:6.0f} ms {one.clock:10.0f} ms {one.first:6.0f} ms {one.sent / 1000:9.1f} kB  {one.address}")  # noqa: T201
    slow = [one.address for one in asked if one.ms >= LIMIT_MS]
    assert not slow
