"""Everything that tablets call, under /api."""

from collections import deque

from fastapi import APIRouter, FastAPI
from pydantic import BaseModel

from server.api import enrolment, exchange, offers, packs, photos
from server.api.door import Record
from server.store.opening import nursery_of
from shared_schema.wire import OLDEST_PROTOCOL, PROTOCOL

__all__ = ["mount_api"]


class Hello(BaseModel):
    """What anyone may know: which nursery this is, and which protocol versions it speaks."""

    nursery: str
    nursery_name: str
    protocol: int
    oldest_protocol: int


def mount_api(app: FastAPI) -> None:
    """Add the tablets' routes to an app whose state has `store` and `settings`."""
    router = APIRouter(prefix="/api")
    for part in (enrolment, exchange, offers, packs, photos):
        router.include_router(part.router)
    router.add_api_route("", _hello, methods=["GET"])
    app.include_router(router)
    app.state.wrong_codes = deque()


def _hello(store: Record) -> Hello:
    nursery = nursery_of(store)
    return Hello(nursery=nursery.name_id, nursery_name=nursery.name, protocol=PROTOCOL, oldest_protocol=OLDEST_PROTOCOL)
