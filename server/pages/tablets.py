"""Tablets: what each brought and holds back, whether its clock is right, and who may come and go."""

from typing import Annotated, Final
from urllib.parse import urlsplit

import segno
from fastapi import APIRouter, Form, Request
from fastapi.responses import RedirectResponse, Response

from server.access.tablets import let_tablet_in, make_code, withdraw_tablet
from server.pages.door import Caller, Checked, Visitor
from server.pages.record import Record
from server.pages.rendering import public_url, render
from server.pages.telling import in_words
from server.store.record import RecordStore
from server.store.tablets import list_tablets
from shared_schema.errors import SchemaError

__all__ = ["CLOCK_OFF_S", "router"]

router = APIRouter()

CLOCK_OFF_S: Final = 120
"""From here on a clock is pointed out: times that people read side by side would mislead them."""
_ONLY_HERE: Final = frozenset({"localhost", "127.0.0.1", "::1"})


@router.get("/tablets")
def show_tablets(request: Request, store: Record, visitor: Caller) -> Response:
    """Every tablet that was ever let in."""
    return _show(request, store, visitor)


def _show(request: Request, store: RecordStore, visitor: Visitor, wrong: str = "", about: str = "", status: int = 200) -> Response:
    tablets = sorted(list_tablets(store), key=lambda one: (one.withdrawn, one.name.casefold(), one.writer))
    context = {"tablets": tablets, "now": store.clock(), "limit": CLOCK_OFF_S, "wrong": wrong, "about": about}
    return render(request, "tablets.html", visitor, context, status)


@router.post("/tablets/codes")
def show_code(request: Request, store: Record, visitor: Checked) -> Response:
    """Make a code for one tablet and show it this once, as a picture too."""
    code, until = make_code(store, visitor.actor)
    address = public_url(request)
    picture = segno.make(f"{address}#{code}", micro=False, error="m").svg_inline(scale=8, border=4)
    context = {
        "code": code,
        "until": until,
        "address": address,
        "picture": picture,
        "only_here": urlsplit(address).hostname in _ONLY_HERE,
    }
    return render(request, "code.html", visitor, context)


@router.post("/tablets/{tablet}/withdrawn")
def send_withdrawal(
    request: Request, store: Record, visitor: Checked, tablet: str, reason: Annotated[str, Form(max_length=2000)] = ""
) -> Response:
    """Take a tablet's leave away."""
    try:
        withdraw_tablet(store, tablet, reason, visitor.actor)
    except SchemaError as error:
        return _show(request, store, visitor, in_words(error), tablet, 422)
    return RedirectResponse(f"/tablets#{tablet}", 303)


@router.post("/tablets/{tablet}/let-in")
def undo_withdrawal(store: Record, visitor: Checked, tablet: str) -> Response:
    """Let a tablet in again that was withdrawn."""
    let_tablet_in(store, tablet, visitor.actor)
    return RedirectResponse(f"/tablets#{tablet}", 303)
