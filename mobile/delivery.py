"""Photos on their way to the server: in pieces, after the entries that name them, going on where they stopped."""

import hashlib
from collections.abc import Callable
from datetime import datetime
from typing import Any, Final

from pydantic import ValidationError

from mobile.link import Link
from mobile.store import Store
from shared_schema.errors import HashMismatch, LimitExceeded, SequenceGap, WireError
from shared_schema.wire import MAX_PIECE, PhotoState

__all__ = ["PhotoDelivery"]

_PIECE: Final = min(256 * 1024, MAX_PIECE)
"""Bytes in a piece: on a weak signal less is lost with a broken connection."""
_STARTS: Final = 3


class PhotoDelivery:
    """Sends the photos that wait, oldest first; `heard` is told how many are done, and of how many."""

    def __init__(self, store: Store, link: Link, clock: Callable[[], datetime], heard: Callable[[int, int], None]) -> None:
        self._store, self._link, self._clock, self._heard = store, link, clock, heard

    def send_all(self) -> int:
        """Send all that wait; gives how many the server now has whole.

        A photo whose file is gone or damaged is given up with a notice, so that it does not hold up the others.
        Raises Unreachable, NotAllowed, WireError, StorageError.
        """
        waiting = self._store.photos.waiting()
        delivered = 0
        for done, (sha256, size) in enumerate(waiting, start=1):
            delivered += self._deliver(sha256, size)
            self._heard(done, len(waiting))
        return delivered

    def _deliver(self, sha256: str, size: int) -> bool:
        path = self._store.photos.path(sha256)
        content = path.read_bytes() if path.exists() else b""
        if len(content) != size or hashlib.sha256(content).hexdigest() != sha256:
            self._store.photos.give_up(sha256)
            self._store.notices.post(
                "damaged_photo",
                f"photo {sha256[:12]} is damaged or gone from {path.parent}: it cannot be sent; take it again",
                self._clock(),
            )
            return False
        for start in range(_STARTS):
            try:
                self._send(sha256, content)
            except (HashMismatch, SequenceGap) as error:
                if start + 1 == _STARTS:
                    raise WireError(f"photo {sha256[:12]} never arrived whole: {error}") from error
            else:
                self._store.photos.mark_sent(sha256)
                return True
        return False

    def _send(self, sha256: str, content: bytes) -> None:
        state = self._state("GET", sha256)
        piece_size, idle = _PIECE, 0
        while not state.complete:
            start = state.have if state.have < len(content) else 0
            piece = content[start : start + piece_size]
            try:
                after = self._state("PUT", sha256, params={"offset": start, "size": len(content)}, content=piece)
            except LimitExceeded:
                if piece_size == 1024:
                    raise
                piece_size = max(1024, piece_size // 2)
                continue
            idle = idle + 1 if after.have == state.have and not after.complete else 0
            if idle == _STARTS:
                raise WireError(f"photo {sha256[:12]} stays at byte {state.have} of {len(content)}: tell the office")
            state = after

    def _state(self, method: str, sha256: str, **request: Any) -> PhotoState:
        own = self._store.identities.own
        url = f"{own.server}/api/photos/{sha256}"
        response = self._link.call(method, url, own.token, **request)
        try:
            return PhotoState.model_validate_json(response.content)
        except ValidationError as error:
            raise WireError(f"{url} answered with no photo's state: {response.text[:80]!r}") from error
