"""In which language a page answers: as the account says, else as was chosen at the door, else as the browser asks."""

from collections.abc import Mapping
from typing import Final

from starlette.datastructures import MutableHeaders
from starlette.requests import Request
from starlette.types import ASGIApp, Message, Receive, Scope, Send

from server.pages.languages import Language, choose_language
from server.pages.wording import language, spoken

__all__ = ["CHOICE", "LANGUAGE_COOKIE", "Interpreter"]

LANGUAGE_COOKIE: Final = "crosstree_language"
CHOICE: Final = "language"
"""What chooses a language in the address of a page at the door."""
_LASTS_S: Final = 365 * 24 * 3600


class Interpreter:
    """Sets the language of a request before anybody is known; what signs somebody in prefers theirs."""

    def __init__(self, app: ASGIApp) -> None:
        self._app = app

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Pass the request on."""
        if scope["type"] != "http" or scope["path"].startswith(("/api", "/static/")):
            await self._app(scope, receive, send)
            return
        request = Request(scope)
        chosen = _chosen(request)

        async def interpreted(message: Message) -> None:
            if message["type"] == "http.response.start":
                headers = MutableHeaders(scope=message)
                headers["Content-Language"] = language().code
                if chosen is not None:
                    headers.append("Set-Cookie", _cookie(chosen))
            await send(message)

        with spoken(chosen or _asked_for(request)):
            await self._app(scope, receive, interpreted)


def _chosen(request: Request) -> Language | None:
    if not request.url.path.startswith("/door"):
        return None
    found: Language | None = request.app.state.languages.get(request.query_params.get(CHOICE, ""))
    return found


def _asked_for(request: Request) -> Language:
    languages: Mapping[str, Language] = request.app.state.languages
    kept = languages.get(request.cookies.get(LANGUAGE_COOKIE, ""))
    return kept or choose_language(languages, request.headers.get("accept-language", ""))


def _cookie(chosen: Language) -> str:
    return f"{LANGUAGE_COOKIE}={chosen.code}; Max-Age={_LASTS_S}; Path=/; HttpOnly; SameSite=Lax"
