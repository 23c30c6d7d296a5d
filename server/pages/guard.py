"""What every answer outside /api carries: no script, style, font or picture but our own, and no trace to other sites."""

from typing import Final

from starlette.datastructures import MutableHeaders
from starlette.types import ASGIApp, Message, Receive, Scope, Send

__all__ = ["PageGuard"]

_HEADERS: Final = {
    "Content-Security-Policy": "default-src 'self'; base-uri 'none'; form-action 'self'; frame-ancestors 'none'; object-src 'none'",
    "X-Content-Type-Options": "nosniff",
    # Not "no-referrer": browsers then hide the origin of forms too, and the door refuses those.
    "Referrer-Policy": "same-origin",
    "Cross-Origin-Opener-Policy": "same-origin",
}


class PageGuard:
    """Adds the headers; pages are not kept by caches, files are asked for again and answered with 304.

    An answer that says itself how long it lasts is believed.
    """

    def __init__(self, app: ASGIApp) -> None:
        self._app = app

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Pass the request on."""
        if scope["type"] != "http" or scope["path"].startswith("/api"):
            await self._app(scope, receive, send)
            return

        async def guarded(message: Message) -> None:
            if message["type"] == "http.response.start":
                headers = MutableHeaders(scope=message)
                headers.update(_HEADERS)
                headers.setdefault("Cache-Control", "no-cache" if scope["path"].startswith("/static/") else "no-store")
            await send(message)

        await self._app(scope, receive, guarded)
