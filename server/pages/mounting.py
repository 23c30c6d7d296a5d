"""Puts the office pages onto an application."""

from pathlib import Path
from typing import Final

from fastapi import APIRouter, FastAPI, Request
from fastapi.exceptions import RequestValidationError
from fastapi.responses import FileResponse, Response
from fastapi.staticfiles import StaticFiles
from starlette.exceptions import HTTPException

from server.pages import (
    account,
    bulk,
    claims,
    closing,
    corrections,
    coverage,
    digests,
    discrepancies,
    fragments,
    front,
    genets,
    histories,
    lists,
    live,
    notes,
    nursery,
    people,
    photos,
    plans,
    questions,
    searching,
    structures,
    surveys,
    tablets,
    trail,
    unlikely,
)
from server.pages.door import NotSignedIn
from server.pages.guard import PageGuard
from server.pages.languages import read_languages
from server.pages.live import begin_watching
from server.pages.packing import PagePacker
from server.pages.rendering import render
from server.pages.speaking import Interpreter
from server.pages.telling import in_words
from server.pages.wording import gettext
from shared_schema.errors import CrosstreeError, NotAllowed, NothingSuch, SchemaError, StorageError, TooManyTries

__all__ = ["STATIC", "answer_with_page", "mount_pages", "router"]

STATIC: Final = Path(__file__).parent.parent / "static"

router = APIRouter(include_in_schema=False)
for part in (
    front,
    surveys,
    plans,
    coverage,
    unlikely,
    structures,
    nursery,
    digests,
    bulk,
    claims,
    closing,
    questions,
    fragments,
    genets,
    histories,
    photos,
    searching,
    live,
    lists,
    notes,
    discrepancies,
    corrections,
    account,
    people,
    tablets,
    trail,
):
    router.include_router(part.router)


@router.get("/favicon.ico")
def show_icon() -> Response:
    """The icon that browsers ask for by themselves."""
    return FileResponse(STATIC / "icon.svg", media_type="image/svg+xml")


def mount_pages(app: FastAPI) -> None:
    """Add the pages and their files to an app whose state has `store`; errors are the app's: see answer_with_page."""
    app.mount("/static", StaticFiles(directory=STATIC), name="static")
    app.include_router(router)
    app.state.languages = read_languages()
    begin_watching(app)
    app.add_middleware(Interpreter)
    app.add_middleware(PagePacker)
    app.add_middleware(PageGuard)


def answer_with_page(request: Request, error: Exception) -> Response:
    """An error outside /api as a page that says what to do."""
    if isinstance(error, NotSignedIn):
        return _ask_to_sign_in(request, error)
    status, title = _status(error)
    detail = in_words(error) if isinstance(error, CrosstreeError) else gettext("There is nothing at this address.")
    if isinstance(error, RequestValidationError):
        detail = gettext("A part of the address or of the form cannot be right.")
    return render(request, "wrong.html", getattr(request.state, "visitor", None), {"title": title, "detail": detail}, status)


def _ask_to_sign_in(request: Request, error: NotSignedIn) -> Response:
    onward = request.url.path + (f"?{request.url.query}" if request.url.query else "")
    if request.method == "GET" and request.headers.get("sec-fetch-site") == "cross-site":
        # A strict cookie does not come along from another site, as a mail page: ask for the same page from here.
        return render(request, "welcome.html", None, {"onward": onward, "title": gettext("One moment")})
    return front.show_sign_in(request, in_words(error), onward if request.method == "GET" else "/", status=403)


def _status(error: Exception) -> tuple[int, str]:
    if isinstance(error, NothingSuch | SchemaError):
        return 404, gettext("Not in the record")
    if isinstance(error, TooManyTries):
        return 429, gettext("Too many tries")
    if isinstance(error, NotAllowed):
        return 403, gettext("Not allowed")
    if isinstance(error, StorageError):
        return 503, gettext("The database did not answer")
    if isinstance(error, HTTPException):
        return error.status_code, gettext("No such page")
    return 400, gettext("That did not work")
