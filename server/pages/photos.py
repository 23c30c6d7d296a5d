"""The bytes of photos, for the pages that show them: small ones to look over, and the photo itself."""

from pathlib import Path
from typing import Annotated, Final

from fastapi import APIRouter, Depends, Request
from fastapi.responses import FileResponse, Response

from server.pages.door import Caller
from server.pages.record import Record
from server.store.photos import PhotoStore
from server.store.small_photos import small_photo
from shared_schema.errors import NothingSuch

__all__ = ["router"]

router = APIRouter(prefix="/photos")

_BEGINNINGS: Final = {b"\xff\xd8\xff": "image/jpeg", b"\x89PNG\r\n\x1a\n": "image/png", b"RIFF": "image/webp"}
_NO_PICTURE: Final = Path(__file__).parent.parent / "static" / "no-picture.svg"
_FOR_EVER: Final = {"Cache-Control": "private, max-age=31536000, immutable"}
"""What is named by its bytes never changes; whoever may not see it must not find it in a cache that several share."""


def _photos(request: Request, store: Record) -> PhotoStore:
    return PhotoStore(store, request.app.state.settings.photos)


Photos = Annotated[PhotoStore, Depends(_photos)]


@router.get("/{sha256}")
def show_photo(photos: Photos, visitor: Caller, sha256: str) -> Response:  # noqa: ARG001  # only who is let in
    """A photo that is here. Its type is read from its bytes: what a tablet called it is not trusted."""
    path = photos.path(sha256)
    try:
        with path.open("rb") as file:
            start = file.read(12)
    except FileNotFoundError as error:
        raise NothingSuch(
            "photo %(name)s came and is missing from the photo folder: `crosstree check` names all such", name=sha256
        ) from error
    found = next((media for beginning, media in _BEGINNINGS.items() if start.startswith(beginning)), "application/octet-stream")
    return FileResponse(path, media_type=found, content_disposition_type="inline", headers=_FOR_EVER)


@router.get("/{sha256}/small")
def show_small_photo(photos: Photos, visitor: Caller, sha256: str) -> Response:  # noqa: ARG001  # only who is let in
    """A photo that is here, made small; a sign where its bytes are no picture, which the link to the photo itself can show."""
    made = small_photo(photos, sha256)
    if made is None:
        return FileResponse(_NO_PICTURE, media_type="image/svg+xml")
    return Response(made, media_type="image/jpeg", headers=_FOR_EVER)
