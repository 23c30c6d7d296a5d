"""A small honest server in memory, spoken to through httpx: it keeps entries as the real one does, and fails on demand."""

import hashlib
import re
from collections.abc import Callable, Iterable
from typing import Any

import httpx

from shared_schema.entries import entry_id_of
from shared_schema.errors import BadFrame, CrosstreeError, IdentityClash, NotAllowed, SequenceGap
from shared_schema.ids import Heads
from shared_schema.problems import PROBLEMS
from shared_schema.wire import (
    PROTOCOL,
    EnrolAnswer,
    EnrolAsk,
    ExchangeAnswer,
    ExchangeAsk,
    IdentityAnswer,
    Message,
    PackAsk,
    PackHeader,
    PackManifest,
    PhotoState,
    frame,
    unframe,
)
from tests.mobile.nursery import NOW, NURSERY

__all__ = ["FakeServer", "Fault", "lost_answer", "no_connection", "server_error"]

Fault = Callable[[Callable[[], httpx.Response]], httpx.Response]
"""What happens to a request instead of being answered; it may let the server do its work first."""


def no_connection(_: Callable[[], httpx.Response]) -> httpx.Response:
    """The request never arrives."""
    raise httpx.ConnectError("the boat is out of reach")


def lost_answer(work: Callable[[], httpx.Response]) -> httpx.Response:
    """The request arrives and is done; its answer is lost."""
    work()
    raise httpx.ReadError("the answer was lost")


def server_error(_: Callable[[], httpx.Response]) -> httpx.Response:
    """Something before the server answers with an error of its own."""
    return httpx.Response(503, text="busy")


class FakeServer:
    """`faults` are used up one a request, None for none; after that all goes well. `batch`: entries in one answer."""

    def __init__(self, lines: Iterable[bytes] = (), batch: int = 1_000_000) -> None:
        self.entries: dict[str, list[bytes]] = {}
        self.tokens: dict[str, str] = {}
        self.codes = {"2345-6789"}
        self.photos: dict[str, bytearray] = {}
        self.whole: set[str] = set()
        self.packs: dict[str, bytes] = {}
        self.faults: list[Fault | None] = []
        self.requests: list[httpx.Request] = []
        self.nursery, self.batch = NURSERY, batch
        self.clock_off_s = 0
        for line in lines:
            self.entries.setdefault(entry_id_of(line).writer, []).append(line)

    def client(self) -> httpx.Client:
        """A client whose every request comes here."""
        return httpx.Client(transport=httpx.MockTransport(self._handle))

    def admit(self, writer: str) -> None:
        """Let the tablet of tests.mobile.nursery talk to it."""
        self.tokens[f"token-{writer}"] = writer

    def heads(self) -> Heads:
        """writer -> highest number held."""
        return {writer: len(lines) for writer, lines in self.entries.items() if lines}

    def lines(self) -> list[bytes]:
        """All that it holds, in the order of bytes."""
        return sorted(line for lines in self.entries.values() for line in lines)

    def restore(self, heads: Heads) -> None:
        """Lose everything beyond these heads, as after a restore from a backup."""
        for writer, lines in self.entries.items():
            del lines[heads.get(writer, 0) :]

    def _handle(self, request: httpx.Request) -> httpx.Response:
        self.requests.append(request)
        fault = self.faults.pop(0) if self.faults else None
        if fault is not None:
            return fault(lambda: self._answer(request))
        return self._answer(request)

    def _answer(self, request: httpx.Request) -> httpx.Response:
        try:
            return self._route(request)
        except CrosstreeError as error:
            slug, title, status = PROBLEMS[type(error)]
            members: dict[str, Any] = {
                name: getattr(error, name) for name in ("writer", "expected", "entry_id", "line") if hasattr(error, name)
            }
            kind = f"urn:crosstree:problem:{slug}"
            body = {"type": kind, "title": title, "status": status, "detail": str(error)} | members
            return httpx.Response(status, json=body, headers={"Content-Type": "application/problem+json"})

    def _route(self, request: httpx.Request) -> httpx.Response:
        path = request.url.path
        if path == "/api/enrol":
            return self._enrol(EnrolAsk.model_validate_json(request.content))
        writer = self.tokens.get(request.headers.get("Authorization", "").removeprefix("Bearer "))
        if writer is None:
            raise NotAllowed("this tablet was withdrawn: ask the supervisor")
        if path == "/api/identity":
            new, token = self._fresh()
            return _json(IdentityAnswer(protocol=PROTOCOL, writer=new, token=token))
        if path == "/api/exchange":
            return self._exchange(*unframe(request.content, ExchangeAsk))
        if path == "/api/packs":
            return self._make_pack(PackAsk.model_validate_json(request.content))
        if path.startswith("/api/packs/"):
            return self._fetch_pack(path.rpartition("/")[2], request)
        return self._photo(path.rpartition("/")[2], request)

    def _fresh(self) -> tuple[str, str]:
        writer = f"fresh{len(self.tokens)}"
        self.admit(writer)
        return writer, f"token-{writer}"

    def _enrol(self, ask: EnrolAsk) -> httpx.Response:
        if ask.code not in self.codes:
            raise NotAllowed(f"code {ask.code!r} is not known here")
        self.codes.remove(ask.code)
        writer, token = self._fresh()
        return _json(EnrolAnswer(protocol=PROTOCOL, nursery=self.nursery, nursery_name="Reef Bay", writer=writer, token=token))

    def _exchange(self, ask: ExchangeAsk, lines: list[bytes]) -> httpx.Response:
        stored = self._store(lines)
        lacking = [line for writer, held in sorted(self.entries.items()) for line in held[ask.heads.get(writer, 0) :]]
        answer = ExchangeAnswer(
            protocol=PROTOCOL,
            nursery=self.nursery,
            heads=self.heads(),
            stored=stored,
            known=len(lines) - stored,
            more=len(lacking) > self.batch,
            clock=NOW,
            clock_off_s=self.clock_off_s,
        )
        return httpx.Response(200, content=frame(answer, lacking[: self.batch]), headers={"Content-Encoding": "gzip"})

    def _store(self, lines: list[bytes]) -> int:
        """All or nothing."""
        held = {writer: list(several) for writer, several in self.entries.items()}
        stored = 0
        for place, line in enumerate(lines, start=2):
            try:
                writer, number = entry_id_of(line)
            except BadFrame as error:
                raise BadFrame(str(error), place) from error
            mine = held.setdefault(writer, [])
            if number > len(mine) + 1:
                raise SequenceGap(writer, len(mine) + 1, number)
            if number <= len(mine):
                if mine[number - 1] != line:
                    raise IdentityClash(f"{writer}-{number}")
            else:
                mine.append(line)
                stored += 1
        self.entries = held
        return stored

    def _make_pack(self, ask: PackAsk) -> httpx.Response:
        lines = [line for line in self.lines() if _on(line, ask.structures)]
        header = PackHeader(
            protocol=PROTOCOL,
            nursery=self.nursery,
            survey=ask.survey,
            structures=ask.structures,
            heads=self.heads(),
            entries=len(lines),
        )
        body = frame(header, lines)
        name = hashlib.sha256(body).hexdigest()
        self.packs[name] = body
        return _json(
            PackManifest(
                protocol=PROTOCOL,
                nursery=self.nursery,
                pack=name,
                size=len(body),
                entries=len(lines),
                survey=ask.survey,
                structures=ask.structures,
                clock=NOW,
            )
        )

    def _fetch_pack(self, name: str, request: httpx.Request) -> httpx.Response:
        start = int(request.headers.get("Range", "bytes=0-").removeprefix("bytes=").removesuffix("-"))
        return httpx.Response(206 if start else 200, content=self.packs[name][start:])

    def _photo(self, sha256: str, request: httpx.Request) -> httpx.Response:
        held = self.photos.setdefault(sha256, bytearray())
        if request.method == "PUT" and int(request.url.params["offset"]) == len(held) and sha256 not in self.whole:
            held += request.content
            if len(held) == int(request.url.params["size"]):
                if hashlib.sha256(held).hexdigest() == sha256:
                    self.whole.add(sha256)
                else:
                    held.clear()
        return _json(PhotoState(sha256=sha256, have=len(held), complete=sha256 in self.whole))


def _on(line: bytes, structures: tuple[str, ...]) -> bool:
    """Whether an entry is the nursery's own or has to do with one of the structures, by the names of tests.mobile.nursery."""
    names = {name.decode() for name in re.findall(rb"\bT[0-9]{2}\b", line)}
    return not structures or not names or b'"survey_planned"' in line or bool(names & set(structures))


def _json(message: Message) -> httpx.Response:
    return httpx.Response(200, json=message.model_dump(mode="json"))
