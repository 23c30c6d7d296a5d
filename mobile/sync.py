"""Keeping in step with the server: enrolment, packs, and one exchange after another until neither side lacks anything.

Whatever breaks, and wherever: what the tablet holds on disk is whole, and the next run goes on from there.
"""

import secrets
from collections.abc import Callable, Iterable
from dataclasses import dataclass, field
from datetime import datetime
from typing import Final, Literal, TypeAlias, TypeVar

import httpx
from pydantic import ValidationError

from mobile.delivery import PhotoDelivery
from mobile.exchange import Exchange, Round
from mobile.identity import Identity
from mobile.link import Link, Patience
from mobile.outbox import Outbox
from mobile.packs import Packs
from mobile.readiness import Readiness, check_readiness
from mobile.store import Store
from shared_schema.errors import (
    CrosstreeError,
    IdentityClash,
    NotAllowed,
    NothingSuch,
    Unreachable,
    WireError,
)
from shared_schema.ids import Heads
from shared_schema.wire import PROTOCOL, EnrolAnswer, EnrolAsk, Message, Offers, PackAsk, PackManifest, check_protocol

__all__ = ["Outcome", "Progress", "Round", "State", "Sync"]

State: TypeAlias = Literal["in_step", "unreachable", "not_allowed", "refused", "failed"]
"""`in_step`: nothing is left to send or fetch. `unreachable`: try again when there is a signal. `not_allowed`: ask the
supervisor. `refused`: the two programs do not get along. `failed`: the disk, or the record itself. In all of them what
was recorded is safe on the tablet, and a later run goes on where this one stopped."""

_PROGRAM: Final = "crosstree tablet 0.1"

Answer = TypeVar("Answer", bound=Message)


@dataclass(frozen=True, slots=True)
class Progress:
    """What is being done: `done` of `total` entries, bytes or photos; while waiting to try again, `detail` says why."""

    step: Literal["exchange", "pack", "photos", "waiting"]
    done: int = 0
    total: int = 0
    detail: str = ""


@dataclass(frozen=True, slots=True)
class Outcome:
    """How a run ended, and what it moved; `waiting` and `photos_waiting` are still to be sent.

    `heads` is what the server said, after its commit, that it holds; empty where it said nothing in this run.
    """

    state: State
    sent: int
    received: int
    photos: int
    waiting: int
    photos_waiting: int
    detail: str = ""
    heads: Heads = field(default_factory=dict)


def _quiet(progress: Progress) -> None:
    """Tell nobody."""


def _about(seconds: float) -> float:
    """A wait that is up to half as long or half as long again."""
    return seconds * (0.5 + secrets.randbelow(1001) / 1000)


class Sync:
    """One tablet and its server. It blocks while it works: run it in a thread with a Store of its own on the same file."""

    def __init__(
        self,
        store: Store,
        client: httpx.Client,
        clock: Callable[[], datetime],
        sleep: Callable[[float], None],
        progress: Callable[[Progress], None] = _quiet,
        *,
        jitter: Callable[[float], float] = _about,
        tries: int = 6,
    ) -> None:
        self._store, self._clock, self._progress = store, clock, progress
        self._link = Link(client, Patience(sleep, jitter, tries), lambda why: progress(Progress("waiting", detail=why)))
        self._outbox = Outbox(store)
        self._packs = Packs(store)
        self._exchange = self._fresh_exchange()

    def enrol(self, url: str, code: str, name: str) -> Identity:
        """Spend a one-time code: from now on the tablet has an identity, and can record and sync.

        Raises NotAllowed for a wrong or spent code, WireError for another nursery than the record on this tablet is of.
        """
        server = url.rstrip("/")
        ask = EnrolAsk(protocol=PROTOCOL, code=code, name=name)
        # A code is spent by the first request that arrives: a lost answer must not spend it again.
        response = self._link.call("POST", f"{server}/api/enrol", once=True, json=ask.model_dump(mode="json"))
        answer = _understood(response, EnrolAnswer)
        check_protocol(answer.protocol, "the server")
        before = self._store.identities.current
        if before is not None and before.nursery != answer.nursery:
            raise WireError(
                f"this tablet's data is of nursery {before.nursery_name}, and {server} keeps {answer.nursery_name}: "
                "start with a new data file for it"
            )
        identity = Identity(answer.writer, answer.token, answer.nursery, answer.nursery_name, server)
        with self._store.database.writing():
            self._store.identities.add(identity)
            if before is not None:
                self._store.raise_heads({before.writer: self._store.last(before.writer)})
                self._outbox.leave(before)
        return identity

    def exchange(self) -> Round:
        """One round trip; see exchange.py for what it heals and raises."""
        return self._exchange.once()

    def run(self) -> Outcome:
        """Exchange until nothing is left, then send the photos. Trouble is told in the outcome, never raised."""
        sent = received = photos = 0
        self._exchange = self._fresh_exchange()
        try:
            again = True
            while again:
                done = self.exchange()
                sent, received, again = sent + done.sent, received + done.received, done.again
                self._progress(Progress("exchange", sent + received, sent + received + self._outbox.waiting))
            photos = self.send_photos()
        except CrosstreeError as error:
            return self._ended(_state_of(error), sent, received, photos, str(error))
        return self._ended("in_step", sent, received, photos)

    def send_photos(self) -> int:
        """Send the photos that wait; gives how many."""
        tell = self._progress
        delivery = PhotoDelivery(self._store, self._link, self._clock, lambda done, total: tell(Progress("photos", done, total)))
        return delivery.send_all()

    def load_pack(self, survey: str, structures: Iterable[str] = ()) -> PackManifest:
        """Fetch and load what matters for a survey of these structures (none named: those that the survey names).

        What was loaded before is asked for again, so that the new pack speaks for all of it. A broken fetch goes on
        where it stopped, the next time too.
        """
        wanted = frozenset(structures)
        manifest = self._ask_for(survey, wanted | self._packs.structures if wanted else wanted)
        if not self._packs.structures <= set(manifest.structures):
            manifest = self._ask_for(survey, self._packs.structures | set(manifest.structures))
        self._store.settings.put(
            pack={"sha256": manifest.pack, "survey": survey, "structures": list(manifest.structures)},
            clock_off_s=round((self._clock() - manifest.clock).total_seconds()),
            contact=self._clock().isoformat(),
        )
        own = self._store.identities.own
        url = f"{own.server}/api/packs/{manifest.pack}"
        part = self._packs.part(manifest)
        tell = self._progress
        for other in self._store.path.parent.glob(f"{self._store.path.name}-*.part"):
            if other != part:
                other.unlink(missing_ok=True)  # what was begun of an older pack is of no more use
        self._link.fetch(url, own.token, part, manifest.size, lambda have: tell(Progress("pack", have, manifest.size)))
        try:
            self._packs.load(manifest, self._clock())
        except IdentityClash:
            if self.run().state != "in_step":  # an exchange gives this tablet the new identity that it needs
                raise
            self._packs.load(manifest, self._clock())
        return manifest

    def offers(self) -> Offers:
        """Which surveys and structures can be loaded. Raises Unreachable, NotAllowed, WireError."""
        own = self._store.identities.own
        offers = _understood(self._link.call("GET", f"{own.server}/api/offers", own.token), Offers)
        check_protocol(offers.protocol, "the server")
        return offers

    def knock(self) -> None:
        """Find out whether the server can be reached; nothing is sent. Raises Unreachable, WireError."""
        self._link.call("GET", f"{self._store.identities.own.server}/api")

    def readiness(self, survey: str) -> Readiness:
        """Whether the boat can leave: see readiness.py."""
        return check_readiness(self._store, survey)

    def _ask_for(self, survey: str, structures: Iterable[str]) -> PackManifest:
        own = self._store.identities.own
        ask = PackAsk(protocol=PROTOCOL, survey=survey, structures=tuple(sorted(structures)))
        response = self._link.call("POST", f"{own.server}/api/packs", own.token, json=ask.model_dump(mode="json"))
        manifest = _understood(response, PackManifest)
        check_protocol(manifest.protocol, "the server")
        if manifest.nursery != own.nursery:
            raise WireError(f"{own.server} keeps nursery {manifest.nursery}, and this tablet belongs to {own.nursery}")
        return manifest

    def _fresh_exchange(self) -> Exchange:
        return Exchange(self._store, self._link, self._clock, self._outbox, _PROGRAM)

    def _ended(self, state: State, sent: int, received: int, photos: int, detail: str = "") -> Outcome:
        waiting, photos_waiting = self._outbox.waiting, len(self._store.photos.waiting())
        return Outcome(state, sent, received, photos, waiting, photos_waiting, detail, self._exchange.theirs)


def _state_of(error: CrosstreeError) -> State:
    if isinstance(error, Unreachable):
        return "unreachable"
    if isinstance(error, NotAllowed):
        return "not_allowed"
    return "refused" if isinstance(error, WireError | NothingSuch) else "failed"


def _understood(response: httpx.Response, kind: type[Answer]) -> Answer:
    try:
        return kind.model_validate_json(response.content)
    except ValidationError as error:
        raise WireError(f"{response.url} answered with no {kind.__name__}: {response.text[:80]!r}: check the address") from error
