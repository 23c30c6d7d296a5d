"""HTTP with patience: tries again after a broken connection or a server's error, and turns refusals into exceptions."""

from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Final, TypeVar

import httpx
from pydantic import ValidationError

from shared_schema.errors import (
    BadFrame,
    CrosstreeError,
    EntryNotUnderstood,
    IdentityClash,
    LimitExceeded,
    SequenceGap,
    StorageError,
    Unreachable,
    WireError,
)
from shared_schema.problems import PROBLEMS, Problem, problem_slug

__all__ = ["Link", "Patience"]

Answer = TypeVar("Answer")

_KINDS: Final = {slug: kind for kind, (slug, _, _) in PROBLEMS.items()}


@dataclass(frozen=True, slots=True)
class Patience:
    """How often to try, and how long to wait in between: `first_s`, then twice as long each time, `longest_s` at most.

    `jitter` turns each wait into one near it, so that several tablets do not come back at the same moment.
    """

    sleep: Callable[[float], None]
    jitter: Callable[[float], float]
    tries: int = 6
    first_s: float = 0.5
    longest_s: float = 30

    def wait(self, tried: int) -> None:
        """Wait after the `tried`-th try, counted from 1."""
        self.sleep(self.jitter(min(self.longest_s, self.first_s * 2 ** (tried - 1))))


class Link:
    """Calls one server for one tablet. `waiting` hears of each failure before the next try."""

    def __init__(self, client: httpx.Client, patience: Patience, waiting: Callable[[str], None]) -> None:
        self._client, self._patience, self._waiting = client, patience, waiting

    def call(self, method: str, url: str, token: str | None = None, *, once: bool = False, **request: Any) -> httpx.Response:
        """The answer to a request. `once`: what must not be repeated when its answer was lost is tried only to reach.

        Raises Unreachable after the last try, StorageError where the server's disk is full, and what a refusal says:
        BadFrame, SequenceGap, IdentityClash, NotAllowed, ... or WireError where no Crosstree server answered.
        """
        return self._patiently(lambda: _good(self._client.request(method, url, **_with(token, request))), url, once=once)

    def fetch(self, url: str, token: str, part: Path, size: int, heard: Callable[[int], None]) -> None:
        """The `size` bytes at a URL into the file `part`, going on from what it holds; `heard` is told how many there are.

        Raises as `call` does; what came so far stays in the file for the next time.
        """
        while (have := _size(part)) < size:
            self._patiently(lambda: self._fetch_some(url, token, part, heard), url)
            if _size(part) <= have:
                raise WireError(f"{url} sent nothing beyond byte {have} of {size}: ask for it again")

    def _fetch_some(self, url: str, token: str, part: Path, heard: Callable[[int], None]) -> None:
        have = _size(part)
        request = _with(token, {"headers": {"Range": f"bytes={have}-", "Accept-Encoding": "identity"}})
        try:
            with self._client.stream("GET", url, **request) as response:
                if not response.is_success:
                    response.read()
                _append(_good(response), part, heard)
        except httpx.RequestError:
            if _size(part) <= have:
                raise
            # Something came before it broke: on a weak signal that is how it goes, and no reason to give up.

    def _patiently(self, ask: Callable[[], Answer], url: str, *, once: bool = False) -> Answer:
        tried = 0
        while True:
            tried += 1
            try:
                return ask()
            except (httpx.RequestError, _ServerFailed) as error:
                last = tried >= self._patience.tries or (once and not isinstance(error, httpx.ConnectError))
                if last:
                    if isinstance(error, _ServerFailed) and isinstance(error.problem, StorageError):
                        raise error.problem from error
                    raise Unreachable(f"{url} was tried {tried} times: {_words(error)}: try again later") from error
                self._waiting(_words(error))
                self._patience.wait(tried)
            except httpx.InvalidURL as error:
                raise WireError(f"{url} is no address: {error}") from error


class _ServerFailed(Exception):
    """The server answered, with an error of its own; another try may do."""

    def __init__(self, response: httpx.Response) -> None:
        super().__init__(f"it answered {response.status_code} {response.reason_phrase}")
        self.problem = _refusal(response)


def _append(response: httpx.Response, part: Path, heard: Callable[[int], None]) -> None:
    goes_on = response.status_code == httpx.codes.PARTIAL_CONTENT
    try:
        with part.open("ab" if goes_on else "wb") as file:
            for piece in response.iter_bytes():
                file.write(piece)
                heard(file.tell())
    except OSError as error:
        raise StorageError(f"{part} could not be written: {error}: make room and try again") from error


def _size(part: Path) -> int:
    return part.stat().st_size if part.exists() else 0


def _with(token: str | None, request: dict[str, Any]) -> dict[str, Any]:
    headers = dict(request.get("headers", {}))
    if token is not None:
        headers["Authorization"] = f"Bearer {token}"
    return request | {"headers": headers}


def _good(response: httpx.Response) -> httpx.Response:
    if response.is_server_error:
        raise _ServerFailed(response)
    if not response.is_success:
        raise _refusal(response)
    return response


def _refusal(response: httpx.Response) -> CrosstreeError:
    try:
        problem = Problem.model_validate_json(response.content)
    except ValidationError:
        if response.status_code == httpx.codes.REQUEST_ENTITY_TOO_LARGE:
            return LimitExceeded(f"{response.url} takes no request of this size: send less at once")
        return WireError(
            f"{response.url} answered {response.status_code}, and not as a Crosstree server does: "
            "check the address, and whether this network wants a sign-in first"
        )
    return _as_said(problem)


def _as_said(problem: Problem) -> CrosstreeError:
    """The exception that the other side raised, as far as its members tell."""
    kind = _KINDS.get(problem_slug(problem), WireError)
    members = problem.model_extra or {}
    if kind is SequenceGap:
        return SequenceGap(str(members.get("writer")), int(members.get("expected") or 0), 0)
    if kind is IdentityClash:
        return IdentityClash(str(members.get("entry_id")))
    if kind is BadFrame:
        line = members.get("line")
        return BadFrame(problem.detail, line if isinstance(line, int) else None)
    return EntryNotUnderstood("refused", problem.detail) if kind is EntryNotUnderstood else kind(problem.detail)


def _words(error: Exception) -> str:
    if isinstance(error, httpx.TimeoutException):
        return "no answer came in time"
    if isinstance(error, httpx.ConnectError):
        return f"no connection ({error})"
    return str(error) or type(error).__name__
