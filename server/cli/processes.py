"""A server of several processes on one socket."""

from contextlib import suppress

import uvicorn
from uvicorn.supervisors import Multiprocess

from server.listening import listen

__all__ = ["serve_in_processes"]


def serve_in_processes(factory: str, host: str, port: int, number: int, last_answers_s: int) -> None:
    """Serve the app that `factory` ("module:function") makes in each of `number` processes, until Ctrl-C.

    `last_answers_s`: how long one that stops waits for answers on their way. Raises StorageError where the port is taken.
    """
    config = uvicorn.Config(
        factory,
        factory=True,
        host=host,
        port=port,
        workers=number,
        log_level="warning",
        timeout_graceful_shutdown=last_answers_s,
    )
    with listen(host, port) as listening, suppress(KeyboardInterrupt):
        Multiprocess(config, sockets=[listening]).run()
