"""The bytes of photos, for the pages that show them."""

from typing import Final

from fastapi import APIRouter, Request
from fastapi.responses import FileResponse, Response

from server.pages.door import Caller
from server.pages.record import Record
from server.store.photos import PhotoStore

__all__ = ["router"]

router = APIRouter()

_BEGINNINGS: Final = {b"\xff\xd8\xff": "image/jpeg", b"\x89PNG\r\n\x1a\n": "image/png", b"RIFF": "image/webp"}


@router.get("/photos/{sha256}")
def show_photo(request: Request, store: Record, visitor: Caller, sha256: str) -> Response:  # noqa: ARG001  # only who is let in
    """A photo that is here. Its type is read from its bytes: what a tablet called it is not trusted."""
    path = PhotoStore(store, request.app.state.settings.photos).path(sha256)
    with path.open("rb") as file:
        start = file.read(12)
    found = next((media for beginning, media in _BEGINNINGS.items() if start.startswith(beginning)), "application/octet-stream")
    return FileResponse(path, media_type=found, content_disposition_type="inline")
