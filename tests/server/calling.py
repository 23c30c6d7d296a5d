"""A tablet by hand, and the server that it calls."""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import UTC, datetime
from typing import Any

import httpx
import pytest

from server.settings import Settings
from server.store.record import RecordStore
from server.store.tablets import Credentials, new_code
from shared_schema.author import Author
from shared_schema.problems import Problem, problem_slug
from shared_schema.wire import PROTOCOL, ExchangeAnswer, ExchangeAsk, frame, unframe
from tests.server.running import running

__all__ = ["Caller", "caller"]

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
    with running(settings) as (url, _), httpx.Client(base_url=url, timeout=60) as client:
        code, _ = new_code(store)
        made = client.post("/api/enrol", json={"protocol": PROTOCOL, "code": code, "name": "Blue tablet"}).json()
        client.headers["Authorization"] = f"Bearer {made['token']}"
        yield Caller(client, store, settings, made["nursery"], Credentials(made["writer"], made["token"]))
