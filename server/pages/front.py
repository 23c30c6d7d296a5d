"""The front door: a link with a key lets a browser in; leaving throws the key away."""

from typing import Annotated

from fastapi import APIRouter, Form, Request
from fastapi.responses import RedirectResponse, Response

from server.pages.door import COOKIE, Checked, visitor_with
from server.pages.rendering import render
from server.store.record import RecordStore

__all__ = ["router"]

router = APIRouter()


@router.get("/door")
def show_door(request: Request) -> Response:
    """Says how to get a link, and takes a key that was pasted."""
    return render(request, "door.html", None)


@router.get("/door/{key}")
def open_door(request: Request, key: str) -> Response:
    """Let the browser in.

    The cookie is set on a page and not on a redirect: a strict cookie does not go along with a redirect that began on
    another site, as a link in a message does.
    """
    store: RecordStore = request.app.state.store
    visitor = visitor_with(store, key)
    answer = render(request, "welcome.html", visitor)
    left = max(0, visitor.expires_ms // 1000 - int(store.clock().timestamp()))
    answer.set_cookie(COOKIE, key, max_age=left, httponly=True, samesite="strict", secure=request.url.scheme == "https", path="/")
    return answer


@router.post("/door")
def paste_key(key: Annotated[str, Form()] = "") -> Response:
    """Go to where the key opens; that page says what is wrong with it, where something is."""
    return RedirectResponse(f"/door/{key.strip().rpartition('/')[2] or '-'}", 303)


@router.post("/leave")
def leave(_: Checked) -> Response:
    """Throw the browser's key away. The link works on until it expires."""
    answer = RedirectResponse("/door", 303)
    answer.delete_cookie(COOKIE, path="/", httponly=True, samesite="strict")
    return answer
