"""An app that tells of its own connections whether their answers go out at once."""

import asyncio
import gc
import json
import os
import socket
from collections.abc import Awaitable, Callable
from typing import Any

__all__ = ["make_app"]


def make_app() -> Callable[..., Awaitable[None]]:
    """The app of one process."""
    return _app


async def _app(scope: dict[str, Any], receive: Callable[[], Any], send: Callable[[dict[str, Any]], Awaitable[None]]) -> None:
    if scope["type"] == "lifespan":
        while (await receive())["type"] == "lifespan.startup":
            await send({"type": "lifespan.startup.complete"})
        await send({"type": "lifespan.shutdown.complete"})
        return
    told = json.dumps({"process": os.getpid(), "at_once": _at_once(scope["client"])}).encode()
    await send({"type": "http.response.start", "status": 200, "headers": [(b"content-length", str(len(told)).encode())]})
    await send({"type": "http.response.body", "body": told})


def _at_once(peer: tuple[str, int]) -> bool:
    """Whether the system was told to send what is written to a connection without waiting for more."""
    ours = [one for one in gc.get_objects() if isinstance(one, asyncio.Transport) and one.get_extra_info("peername") == tuple(peer)]
    return bool(ours[0].get_extra_info("socket").getsockopt(socket.IPPROTO_TCP, socket.TCP_NODELAY))
