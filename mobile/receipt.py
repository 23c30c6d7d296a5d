"""What a run of the sync leaves behind for the crew to see: a receipt, after the server's word, and what is still only here."""

from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime
from typing import TYPE_CHECKING, Any, Self

from mobile.news import News
from mobile.outbox import Outbox
from mobile.preferences import Memory
from mobile.store import Store
from shared_schema.ids import Heads

if TYPE_CHECKING:
    from mobile.sync import Outcome, Sync

__all__ = ["Receipt", "Standstill", "send_and_fetch", "standstill"]


@dataclass(frozen=True, slots=True)
class Receipt:
    """What the server acknowledged, after its commit, in the last run that reached it.

    `sent` entries and `photos` were new to it, `received` were new here; `number` is how far it holds this tablet's own
    entries, and `heads` how far it holds everybody's.
    """

    at: datetime
    sent: int
    received: int
    photos: int
    number: int
    heads: Heads

    @classmethod
    def read(cls, memory: Memory) -> Self | None:
        """The last one; None before the first."""
        kept: Any = memory.get("receipt")
        if not isinstance(kept, dict):
            return None
        return cls(datetime.fromisoformat(kept.pop("at")), **kept)

    def keep(self, memory: Memory) -> None:
        """Keep it."""
        memory.put(
            receipt={
                "at": self.at.isoformat(),
                "sent": self.sent,
                "received": self.received,
                "photos": self.photos,
                "number": self.number,
                "heads": dict(self.heads),
            }
        )


@dataclass(frozen=True, slots=True)
class Standstill:
    """What is only on this tablet: entries and photos that the server has not acknowledged."""

    entries: int
    photos: int

    @property
    def safe(self) -> bool:
        """Whether losing the tablet now would lose nothing."""
        return not self.entries and not self.photos


def standstill(store: Store) -> Standstill:
    """What the server does not have."""
    return Standstill(Outbox(store).waiting, len(store.photos.waiting()))


def send_and_fetch(store: Store, sync: "Sync", clock: Callable[[], datetime]) -> "Outcome":
    """Run the sync, and keep a receipt where the server answered at all."""
    News(store).begin()
    outcome = sync.run()
    if outcome.heads:
        own = store.identities.own
        Receipt(clock(), outcome.sent, outcome.received, outcome.photos, own.acknowledged, outcome.heads).keep(store.settings)
    return outcome
