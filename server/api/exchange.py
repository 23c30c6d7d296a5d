"""The exchange: a tablet says what it holds and brings what it wrote; it gets what it lacks."""

from fastapi import APIRouter, Request
from fastapi.responses import Response

from server.api.door import Body, Record, Tablet
from server.store.opening import new_office, nursery_of
from server.store.tablets import note_contact
from shared_schema.errors import LimitExceeded, NotAllowed, NothingSuch
from shared_schema.wire import (
    FRAMED,
    MAX_BATCH,
    PROTOCOL,
    ExchangeAnswer,
    ExchangeAsk,
    check_protocol,
    frame,
    gunzip,
    unframe,
)

__all__ = ["router"]

router = APIRouter()


@router.post("/exchange", response_class=Response)
def exchange(request: Request, store: Record, tablet: Tablet, body: Body) -> Response:
    """Take a tablet's entries, then answer with what it lacks. All of a request is stored, or nothing."""
    ask, lines = unframe(body, ExchangeAsk)
    check_protocol(ask.protocol, "the tablet")
    nursery = nursery_of(store)
    if ask.nursery != nursery.name_id:
        raise NothingSuch(
            f"this server keeps nursery {nursery.name_id}, and the tablet belongs to {ask.nursery}: check the address"
        )
    if ask.writer != tablet:
        raise NotAllowed(f"the token is tablet {tablet}'s, and the request says {ask.writer}")
    if len(lines) > MAX_BATCH:
        raise LimitExceeded(f"{len(lines)} entries at once are over the limit of {MAX_BATCH}: send them in several requests")
    clock = store.clock()
    clock_off_s = round((ask.clock - clock).total_seconds())
    receipt = store.receive(lines, tablet, clock_off_s=clock_off_s)
    note_contact(store, tablet, clock_off_s, ask.program, ask.waiting)
    lacking, more = store.lines_after(ask.heads, limit=2 * MAX_BATCH)
    heads = store.heads()
    if ask.heads.get(nursery.office, 0) > heads.get(nursery.office, 0):
        new_office(store)
    answer = ExchangeAnswer(
        protocol=PROTOCOL,
        nursery=nursery.name_id,
        heads=heads,
        stored=receipt.stored,
        known=receipt.known,
        set_aside=receipt.set_aside,
        more=more,
        clock=clock,
        clock_off_s=clock_off_s,
    )
    framed = frame(answer, lacking, level=5)
    if "gzip" in request.headers.get("accept-encoding", ""):
        return Response(framed, media_type=FRAMED, headers={"Content-Encoding": "gzip"})
    return Response(gunzip(framed, limit=1 << 30), media_type=FRAMED)
