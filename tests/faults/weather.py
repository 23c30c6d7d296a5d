"""What a weak signal does to requests and answers: an httpx transport over real sockets that loses things on purpose."""

from collections.abc import Iterator
from typing import Final, Literal, TypeAlias, get_args

import httpx

from shared_schema.wire import FRAMED, ExchangeAnswer, frame, unframe

__all__ = ["MISHAPS", "Mishap", "Weather"]

Mishap: TypeAlias = Literal["none", "lost", "unanswered", "late", "twice", "broken_off", "shortened", "abridged", "busy", "gave_up"]
"""`lost`: the request never arrives. `unanswered`: it arrives, the answer is lost. `late`: it seems lost, and arrives at some
later time. `twice`: it arrives twice. `broken_off`: the connection breaks within the answer. `shortened`: something on the
way delivers a part of the answer as if it were all. `abridged`: likewise, and the part ends where an entry ends. `busy`:
something before the server answers 503. `gave_up`: likewise, after the server has done its work."""

MISHAPS: Final[tuple[Mishap, ...]] = get_args(Mishap)


class Weather(httpx.BaseTransport):
    """Delivers each request with the next of `mishaps`; when they are used up all goes well.

    `share` says how much of an answer comes through where it is cut.
    """

    def __init__(self) -> None:
        self.mishaps: list[Mishap] = []
        self.share = 0.5
        self.late: list[httpx.Request] = []
        self._wire = httpx.HTTPTransport()

    def handle_request(self, request: httpx.Request) -> httpx.Response:
        """Deliver a request, or not."""
        request.read()
        mishap = self.mishaps.pop(0) if self.mishaps else "none"
        if mishap == "lost":
            raise httpx.ConnectError("out of reach", request=request)
        if mishap == "busy":
            return httpx.Response(503, text="busy")
        if mishap == "late":
            self.late.append(request)
            raise httpx.ReadTimeout("no answer", request=request)
        if mishap == "twice":
            self._deliver(request)
        status, headers, body = self._deliver(request)
        if mishap == "unanswered":
            raise httpx.ReadError("the answer was lost", request=request)
        if mishap == "gave_up":
            return httpx.Response(504, text="no answer in time")
        if mishap == "abridged" and headers.get("content-type") == FRAMED:
            body = _abridged(body, self.share)
        part = body[: int(len(body) * self.share)]
        if mishap == "broken_off":
            return httpx.Response(status, headers=headers, stream=_BrokenOff(part, request))
        if mishap == "shortened":
            body = part
        headers["Content-Length"] = str(len(body))
        return httpx.Response(status, headers=headers, stream=httpx.ByteStream(body))

    def deliver_late(self) -> None:
        """What seemed lost arrives now; nobody waits for the answers."""
        while self.late:
            self._deliver(self.late.pop(0))

    def close(self) -> None:
        """Let the sockets go."""
        self._wire.close()

    def _deliver(self, request: httpx.Request) -> tuple[int, httpx.Headers, bytes]:
        response = self._wire.handle_request(request)
        assert isinstance(response.stream, httpx.SyncByteStream)
        try:
            body = b"".join(response.stream)
        finally:
            response.close()
        return response.status_code, response.headers, body


def _abridged(body: bytes, share: float) -> bytes:
    answer, lines = unframe(body, ExchangeAnswer)
    return frame(answer, lines[: int(len(lines) * share)])


class _BrokenOff(httpx.SyncByteStream):
    def __init__(self, part: bytes, request: httpx.Request) -> None:
        self._part, self._request = part, request

    def __iter__(self) -> Iterator[bytes]:
        yield self._part
        raise httpx.RemoteProtocolError("peer closed connection without sending complete message body", request=self._request)
