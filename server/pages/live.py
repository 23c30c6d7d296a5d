"""Server-sent events: an open page hears that entries arrived, and that it was signed out."""

import json
from collections.abc import AsyncIterator
from typing import Annotated

from fastapi import APIRouter, FastAPI, Query, Request
from fastapi.responses import StreamingResponse

from server.pages.door import Onlooker
from server.pages.watching import Watcher
from server.pages.wording import gettext, ngettext
from server.review.arrivals import Brought

__all__ = ["begin_watching", "end_watching", "router"]

router = APIRouter()


def begin_watching(app: FastAPI) -> None:
    """Give the application its watcher; it does nothing until a page listens."""
    app.state.watcher = Watcher(app.state.store)


def end_watching(app: FastAPI) -> None:
    """End all streams: a server that stops waits for them otherwise."""
    app.state.watcher.close()


@router.get("/live")
async def stream_news(request: Request, visitor: Onlooker, since: Annotated[int, Query(ge=0)] = 0) -> StreamingResponse:
    """News from `since`, the number of entries that the page was made from; a browser that comes back says its last one."""
    last = request.headers.get("last-event-id", "")
    start = int(last) if last.isascii() and last.isdigit() and len(last) < 19 else since
    watcher: Watcher = request.app.state.watcher
    headers = {"Cache-Control": "no-store", "X-Accel-Buffering": "no"}
    return StreamingResponse(_events(watcher, visitor.session, start), media_type="text/event-stream", headers=headers)


async def _events(watcher: Watcher, session: str, since: int) -> AsyncIterator[str]:
    yield "retry: 5000\n\n"
    heads: dict[str, int] | None = None
    async for brought in watcher.listen(session):
        if brought is None:
            yield ": nothing new\n\n"
            continue
        if heads is None:
            heads = dict(brought.heads) if brought.total == since else {}
        if brought.total > since:
            yield _event("arrived", brought.total, _words(brought.total - since, brought, heads))
    yield _event("ended", None, gettext("You are signed out here, or the server stops. Load the page again to go on."))


def _words(many: int, brought: Brought, heads: dict[str, int]) -> str:
    text = ngettext("%(n)s new entry arrived", "%(n)s new entries arrived", many) % {"n": many}
    names = brought.grown_since(heads) if heads else []
    return f"{text} ({', '.join(names[:3])})" if names else text


def _event(name: str, number: int | None, text: str) -> str:
    lines = [f"event: {name}", f"data: {json.dumps(text)}"]
    return "\n".join([*([f"id: {number}"] if number is not None else []), *lines]) + "\n\n"
