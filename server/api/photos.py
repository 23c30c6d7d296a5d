"""Photos arrive in pieces, after the entries that name them, and go on where they stopped."""

from typing import Annotated

from fastapi import APIRouter, Query
from fastapi.responses import FileResponse

from server.api.door import Body, Photos, Tablet
from shared_schema.wire import PhotoState

__all__ = ["router"]

router = APIRouter(prefix="/photos")


@router.get("/{sha256}")
def photo_state(photos: Photos, tablet: Tablet, sha256: str) -> PhotoState:  # noqa: ARG001  # only tablets may ask
    """How much of a photo is here."""
    return photos.state(sha256)


@router.put("/{sha256}")
def add_piece(
    photos: Photos,
    tablet: Tablet,  # noqa: ARG001  # only tablets may send
    body: Body,
    sha256: str,
    offset: Annotated[int, Query(ge=0)],
    size: Annotated[int, Query(ge=1)],
) -> PhotoState:
    """Take a piece of a photo of `size` bytes that begins at byte `offset`; the answer says from where to go on."""
    return photos.add(sha256, offset, size, body)


@router.get("/{sha256}/bytes", response_class=FileResponse)
def photo_bytes(photos: Photos, tablet: Tablet, sha256: str) -> FileResponse:  # noqa: ARG001  # only tablets may ask
    """A whole photo."""
    return FileResponse(photos.path(sha256))
