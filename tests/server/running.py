"""A real server for tests: uvicorn on a free port, over a nursery of the test's own."""

import os
import socket
import sqlite3
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from itertools import count
from pathlib import Path
from typing import Final

import uvicorn
from fastapi import FastAPI
from fastapi.routing import iter_route_contexts
from sqlalchemy import event
from starlette.routing import BaseRoute, Mount, Route

from server.main import create_app
from server.pages.live import end_watching
from server.settings import Settings
from server.store.opening import create_nursery
from server.store.record import RecordStore
from tests.server.blank import lay_tables

__all__ = ["free_port", "new_nursery", "running", "running_full"]

BELOW_ANY: Final = range(20_000, 32_000)
"""Linux gives ports from 32768 on, others from 49152 on."""
_asked = count()
_routes: list[BaseRoute] = []


def free_port() -> int:
    """A port that nobody listens on now, and that the system gives to nobody who asks for any port.

    Each process looks through them from another one on: tests that run beside this one must not get it meanwhile.
    """
    while True:
        port = BELOW_ANY[0] + (os.getpid() * 37 + next(_asked)) % len(BELOW_ANY)
        with socket.socket() as probe:
            try:
                probe.bind(("127.0.0.1", port))
            except OSError:
                continue
            return port


@contextmanager
def new_nursery(data: Path, database_url: str | None = None) -> Iterator[tuple[Settings, RecordStore]]:
    """A nursery of its own in a folder, on SQLite there or on the database of the URL."""
    settings = Settings.of(data, database_url or f"sqlite:///{data / 'crosstree.sqlite'}")
    lay_tables(settings)
    store = create_nursery(settings, "Test nursery")
    try:
        yield settings, store
    finally:
        store.engine.dispose()


@contextmanager
def running_full(settings: Settings) -> Iterator[str]:
    """The address of a server on the same SQLite file whose database may not grow any more."""
    with running(settings) as (url, app):
        engine = app.state.store.engine
        engine.dispose()
        event.listen(engine, "connect", _may_not_grow)
        yield url


def _may_not_grow(connection: sqlite3.Connection, _record: object) -> None:
    (pages,) = connection.execute("PRAGMA page_count").fetchone()
    connection.execute(f"PRAGMA max_page_count={pages + 1}")


@contextmanager
def running(settings: Settings) -> Iterator[tuple[str, FastAPI]]:
    """The server's address while it runs, and its app."""
    app = create_app(settings)
    _make_ready(app)
    server = uvicorn.Server(uvicorn.Config(app, host="127.0.0.1", port=0, log_level="warning", lifespan="off"))
    # The protocol is named: without it asyncio lets the system wait 40 ms before it sends an answer's last small part.
    with socket.socket(socket.AF_INET, socket.SOCK_STREAM, socket.IPPROTO_TCP) as listening:
        listening.bind(("127.0.0.1", 0))
        listening.listen()
        thread = threading.Thread(target=server.run, kwargs={"sockets": [listening]})
        thread.start()
        try:
            yield f"http://127.0.0.1:{listening.getsockname()[1]}", app
        finally:
            end_watching(app)
            server.should_exit = True
            thread.join()
            app.state.store.engine.dispose()


def _make_ready(app: FastAPI) -> None:
    """Routers hang on no settings: those of the first app, made ready, serve each. Making them took longer than many tests.

    Otherwise the first request makes them ready, in the server's thread. That silences a warning of pydantic's, but for all
    threads or none: what the test's own thread did about warnings at that moment let it through.
    """
    if not _routes:
        _routes.extend(app.routes)
        for _ in iter_route_contexts(_routes):
            pass
    both = zip(app.routes, _routes, strict=True)
    app.router.routes[:] = [own if isinstance(own, Route | Mount) else first for own, first in both]
