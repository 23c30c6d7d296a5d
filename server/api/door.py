"""What every call of a tablet brings: its token, and a body of bounded size."""

from typing import Annotated

from fastapi import Depends, Request
from fastapi.security import HTTPAuthorizationCredentials, HTTPBearer

from server.store.packs import PackStore
from server.store.photos import PhotoStore
from server.store.record import RecordStore
from server.store.tablets import who_holds
from shared_schema.errors import LimitExceeded, NotAllowed
from shared_schema.wire import MAX_BODY

__all__ = ["Body", "Packs", "Photos", "Record", "Tablet"]


def _record(request: Request) -> RecordStore:
    store: RecordStore = request.app.state.store
    return store


Record = Annotated[RecordStore, Depends(_record)]


def _packs(request: Request, store: Record) -> PackStore:
    return PackStore(store, request.app.state.settings.packs)


def _photos(request: Request, store: Record) -> PhotoStore:
    return PhotoStore(store, request.app.state.settings.photos)


Packs = Annotated[PackStore, Depends(_packs)]
Photos = Annotated[PhotoStore, Depends(_photos)]

_BEARER = HTTPBearer(auto_error=False, description="The token that enrolment gave.")


def _tablet(store: Record, shown: Annotated[HTTPAuthorizationCredentials | None, Depends(_BEARER)]) -> str:
    if shown is None:
        raise NotAllowed("no token came with the request: send `Authorization: Bearer <token>` from enrolment")
    return who_holds(store, shown.credentials)


Tablet = Annotated[str, Depends(_tablet)]
"""The writer id of the tablet that calls."""


async def _body(request: Request) -> bytes:
    parts: list[bytes] = []
    size = 0
    async for part in request.stream():
        size += len(part)
        if size > MAX_BODY:
            raise LimitExceeded(f"the body is over the limit of {MAX_BODY} bytes: send less at once")
        parts.append(part)
    return b"".join(parts)


Body = Annotated[bytes, Depends(_body)]
"""The request's bytes as they came, at most MAX_BODY of them."""
