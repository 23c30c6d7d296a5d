"""The real server in a thread of this process, on a port of this machine."""

import threading
import time
from collections.abc import Iterator
from contextlib import contextmanager

import uvicorn
from fastapi import FastAPI

from server.listening import listen
from server.pages.live import end_watching
from shared_schema.errors import StorageError

__all__ = ["hosted"]

_PATIENCE_S = 30


@contextmanager
def hosted(app: FastAPI, port: int = 0) -> Iterator[str]:
    """Serve `app` until the block ends; gives its address. Port 0 takes any that is free. Raises StorageError."""
    with listen("127.0.0.1", port) as listening:
        server = uvicorn.Server(uvicorn.Config(app, log_level="error"))
        thread = threading.Thread(target=server.run, kwargs={"sockets": [listening]}, name="server", daemon=True)
        thread.start()
        try:
            _wait(server, thread)
            yield f"http://127.0.0.1:{listening.getsockname()[1]}"
        finally:
            end_watching(app)
            server.should_exit = True
            thread.join(_PATIENCE_S)


def _wait(server: uvicorn.Server, thread: threading.Thread) -> None:
    until = time.monotonic() + _PATIENCE_S
    while not server.started:
        if not thread.is_alive() or time.monotonic() > until:
            raise StorageError("the server did not start: see above")
        time.sleep(0.01)
