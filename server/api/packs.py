"""Packs are made on demand, then fetched like any file: whole, or the rest of one after a break."""

from fastapi import APIRouter
from fastapi.responses import FileResponse

from server.api.door import Packs, Tablet
from shared_schema.wire import PackAsk, PackManifest, check_protocol

__all__ = ["router"]

router = APIRouter(prefix="/packs")


@router.post("")
def make_pack(packs: Packs, tablet: Tablet, ask: PackAsk) -> PackManifest:  # noqa: ARG001  # only tablets may ask
    """Make the pack of a survey's structures; it can then be fetched under its SHA-256."""
    check_protocol(ask.protocol, "the tablet")
    return packs.make(ask.survey, ask.structures)


@router.get("/{pack}", response_class=FileResponse)
def fetch_pack(packs: Packs, tablet: Tablet, pack: str) -> FileResponse:  # noqa: ARG001  # only tablets may ask
    """A pack's bytes; `Range` fetches the rest of one."""
    return FileResponse(packs.path(pack), media_type="application/gzip")
