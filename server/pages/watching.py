"""One place in a process that looks whether anything arrived, and what goes on at the office, for all pages that are open there.

It asks the database, so that it sees what other processes took in, and asks only while a page listens. Each time it also
asks which of the listening browsers are still signed in: the others hear no more.
"""

import asyncio
from collections.abc import AsyncIterator, Collection
from contextlib import suppress
from typing import Final, NamedTuple

from starlette.concurrency import run_in_threadpool

from server.access.sessions import still_in
from server.review.answers import office_head
from server.review.arrivals import Brought, read_brought
from server.review.claims import Claim, claims_in
from server.store.engine import reading
from server.store.record import RecordStore
from shared_schema.errors import StorageError

__all__ = ["BEAT_S", "PAUSE_S", "News", "Watcher"]

PAUSE_S: Final = 2.0
"""Between two looks."""
BEAT_S: Final = 20.0
"""The longest that a stream says nothing: what lies between may close a silent one."""


class News(NamedTuple):
    """What tablets brought, who is at which question, and how many entries the office wrote."""

    brought: Brought
    claims: tuple[Claim, ...]
    office: int

    @property
    def mark(self) -> tuple[object, ...]:
        """Differs where anything that a page can show differs."""
        return self.brought.total, self.claims, self.office


class _Listener:
    """A page that is open: whose session it is in, and the news for it. None is the end."""

    def __init__(self, session: str) -> None:
        self.session = session
        self.knows: tuple[object, ...] | None = None
        self.news: asyncio.Queue[News | None] = asyncio.Queue(maxsize=4)

    def tell(self, what: News | None) -> None:
        """Give it the news; one that does not keep up needs only the last."""
        if self.news.full():
            self.news.get_nowait()
        self.news.put_nowait(what)


class Watcher:
    """Belongs to one application and its event loop."""

    def __init__(self, store: RecordStore, pause_s: float = PAUSE_S) -> None:
        self._store, self._pause_s = store, pause_s
        self._listeners: set[_Listener] = set()
        self._task: asyncio.Task[None] | None = None
        self._closed = False

    def close(self) -> None:
        """End all streams within a pause, so that the server can stop. May be called from any thread."""
        self._closed = True

    async def listen(self, session: str) -> AsyncIterator[News | None]:
        """How things are now, and again each time that they change; None now and then where nothing did. Ends with the session."""
        listener = _Listener(session)
        self._listeners.add(listener)
        if self._task is None or self._task.done():
            self._task = asyncio.create_task(self._look_again_and_again())
        try:
            now = await run_in_threadpool(_read_news, self._store)
            listener.knows = now.mark
            yield now
            while True:
                try:
                    news = await asyncio.wait_for(listener.news.get(), BEAT_S)
                except TimeoutError:
                    yield None
                    continue
                if news is None:
                    return
                yield news
        finally:
            self._listeners.discard(listener)

    async def _look_again_and_again(self) -> None:
        while self._listeners and not self._closed:
            with suppress(StorageError):  # a database that does not answer now is asked again
                sessions = {listener.session for listener in self._listeners}
                news, staying = await run_in_threadpool(self._look, sessions)
                for listener in list(self._listeners):
                    if listener.session in sessions - staying:
                        listener.tell(None)
                    elif listener.knows not in (None, news.mark):
                        listener.knows = news.mark
                        listener.tell(news)
            await asyncio.sleep(self._pause_s)
        for listener in self._listeners:
            listener.tell(None)

    def _look(self, sessions: Collection[str]) -> tuple[News, set[str]]:
        return _read_news(self._store), still_in(self._store, sessions)


def _read_news(store: RecordStore) -> News:
    with reading(store.engine) as connection:
        return News(read_brought(store), claims_in(connection, store), office_head(connection, store)[1])
