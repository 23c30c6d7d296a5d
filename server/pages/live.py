"""Server-sent events: an open page hears that entries arrived, what others do at its questions, and that it was signed out."""

import json
from collections.abc import AsyncIterator, Callable
from functools import partial
from typing import Annotated, Any

from fastapi import APIRouter, FastAPI, Query, Request
from fastapi.responses import StreamingResponse
from starlette.concurrency import run_in_threadpool

from server.pages.addresses import survey_named
from server.pages.beside import Desks, desks_for
from server.pages.door import Onlooker
from server.pages.watching import News, Watcher
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
async def stream_news(
    request: Request,
    visitor: Onlooker,
    since: Annotated[int, Query(ge=0)] = 0,
    survey: Annotated[str, Query(max_length=40)] = "",
    office: Annotated[int, Query(ge=0)] = 0,
) -> StreamingResponse:
    """News from `since`, the number of entries that the page was made from; a browser that comes back says its last one.

    A page with questions of a `survey` hears what others do at them, from `office` on, the number of the office's entries.
    """
    last = request.headers.get("last-event-id", "")
    start = int(last) if last.isascii() and last.isdigit() and len(last) < 19 else since
    watcher: Watcher = request.app.state.watcher
    headers = {"Cache-Control": "no-store", "X-Accel-Buffering": "no"}
    listening = partial(desks_for, request.app.state.store, visitor, office=office, survey=survey_named(survey)) if survey else None
    return StreamingResponse(_events(watcher, visitor.session, start, listening), media_type="text/event-stream", headers=headers)


async def _events(watcher: Watcher, session: str, since: int, desks_now: Callable[[News], Desks] | None) -> AsyncIterator[str]:
    yield "retry: 5000\n\n"
    heads: dict[str, int] | None = None
    told = since
    shown: Desks | None = None  # a page may show somebody who left before it began to listen
    async for news in watcher.listen(session):
        if news is None:
            yield ": nothing new\n\n"
            continue
        brought = news.brought
        if heads is None:
            heads = dict(brought.heads) if brought.total == since else {}
        if brought.total > told:
            told = brought.total
            yield _event("arrived", brought.total, _words(brought.total - since, brought, heads))
        if desks_now is not None:
            desks = await run_in_threadpool(desks_now, news)
            if desks != shown:
                shown = desks
                yield _event("desks", None, desks._asdict())
    yield _event("ended", None, gettext("You are signed out here, or the server stops. Load the page again to go on."))


def _words(many: int, brought: Brought, heads: dict[str, int]) -> str:
    text = ngettext("%(n)s new entry arrived", "%(n)s new entries arrived", many) % {"n": many}
    names = brought.grown_since(heads) if heads else []
    return f"{text} ({', '.join(names[:3])})" if names else text


def _event(name: str, number: int | None, what: Any) -> str:
    lines = [f"event: {name}", f"data: {json.dumps(what)}"]
    return "\n".join([*([f"id: {number}"] if number is not None else []), *lines]) + "\n\n"
