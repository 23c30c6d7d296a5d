"""How a tablet becomes known, and gets a new name where two copies of it are about."""

from collections import deque
from time import monotonic
from typing import Final

from fastapi import APIRouter, Request

from server.access.tablets import enrol_tablet as spend_code
from server.api.door import Record, Tablet
from server.store.opening import nursery_of
from server.store.tablets import new_identity
from shared_schema.errors import NotAllowed, TooManyTries
from shared_schema.wire import PROTOCOL, EnrolAnswer, EnrolAsk, IdentityAnswer, check_protocol

__all__ = ["WRONG_CODES_A_MINUTE", "router"]

router = APIRouter()

WRONG_CODES_A_MINUTE: Final = 20
"""Per server process: with 45 random bits in a code, guessing one would take longer than the nursery will stand."""


@router.post("/enrol")
def enrol_tablet(request: Request, store: Record, ask: EnrolAsk) -> EnrolAnswer:
    """Spend a one-time code for an identity and a token."""
    check_protocol(ask.protocol, "the tablet")
    wrong: deque[float] = request.app.state.wrong_codes
    now = monotonic()
    while wrong and wrong[0] < now - 60:
        wrong.popleft()
    if len(wrong) >= WRONG_CODES_A_MINUTE:
        raise TooManyTries("too many wrong codes in the last minute: wait a minute, then try again")
    try:
        made = spend_code(store, ask.code, ask.name, request.client.host if request.client else "")
    except NotAllowed:
        wrong.append(now)
        raise
    nursery = nursery_of(store)
    return EnrolAnswer(protocol=PROTOCOL, nursery=nursery.name_id, nursery_name=nursery.name, writer=made.writer, token=made.token)


@router.post("/identity")
def give_identity(store: Record, tablet: Tablet) -> IdentityAnswer:
    """A new identity for a tablet that was cloned or restored from a copy."""
    made = new_identity(store, tablet)
    return IdentityAnswer(protocol=PROTOCOL, writer=made.writer, token=made.token)
