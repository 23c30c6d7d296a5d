"""The real server in a thread of this process, on a port of this machine."""

import socket
import threading
import time
from collections.abc import Iterator
from contextlib import contextmanager

import uvicorn
from fastapi import FastAPI

from server.pages.live import end_watching
from shared_schema.errors import StorageError

__all__ = ["hosted"]

_PATIENCE_S = 30


@contextmanager
def hosted(app: FastAPI, port: int = 0) -> Iterator[str]:
    """Serve `app` until the block ends; gives its address. Port 0 takes any that is free. Raises StorageError."""
    # The protocol is named: without it asyncio lets the system wait 40 ms before it sends an answer's last small part.
    with socket.socket(socket.AF_INET, socket.SOCK_STREAM, socket.IPPROTO_TCP) as listening:
        listening.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        try:
            listening.bind(("127.0.0.1", port))
        except OSError as error:
            raise StorageError(f"port {port} cannot be used: {error.strerror}: choose another with --port") from error
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
