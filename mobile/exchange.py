"""One round trip of the exchange: send what the server lacks, take what it has, and heal what the answer shows is wrong.

Entries count as sent only when the server, after its own commit, has said so and this tablet has committed that, in the
same transaction as what it received. So a round can break anywhere, and be repeated.
"""

from collections import Counter
from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime
from typing import Final

from pydantic import ValidationError

from mobile.identity import Identity
from mobile.link import Link
from mobile.outbox import Outbox
from mobile.store import Store
from shared_schema.entries import entry_id_of
from shared_schema.errors import BadFrame, IdentityClash, LimitExceeded, SequenceGap, WireError
from shared_schema.ids import EntryId, Heads, parse_entry_id
from shared_schema.wire import (
    FRAMED,
    PROTOCOL,
    ExchangeAnswer,
    ExchangeAsk,
    IdentityAnswer,
    check_protocol,
    frame,
    unframe,
)

__all__ = ["Exchange", "Round"]

_OFTEN: Final = 4
"""How often the same state may be met before it is called a circle."""


@dataclass(frozen=True, slots=True)
class Round:
    """What one round trip did: entries that were new to the server, and new here; and whether there is more to do."""

    sent: int
    received: int
    again: bool


class Exchange:
    """The rounds of one run. It remembers only what the server said in this run; all else is on disk."""

    def __init__(self, store: Store, link: Link, clock: Callable[[], datetime], outbox: Outbox, program: str) -> None:
        self._store, self._link, self._clock, self._outbox, self._program = store, link, clock, outbox, program
        self._theirs: Heads | None = None
        self._withheld: set[str] = set()
        self._met: Counter[str] = Counter()

    @property
    def theirs(self) -> Heads:
        """What the server last said, in this run, that it holds."""
        return dict(self._theirs or {})

    def once(self) -> Round:
        """One round trip.

        Raises Unreachable, NotAllowed, WireError, StorageError; IdentityClash where an entry of somebody else is known
        with other bytes. Nothing is lost then, and nothing half done.
        """
        own, speaker = self._store.identities.own, self._outbox.speaker
        lines = self._outbox.own_lines(self._clock())
        own_count = len(lines)
        if not lines and self._theirs is not None:
            lines = self._outbox.lost_lines(self._theirs, self._withheld)
        try:
            answer, received = self._ask(own, lines)
        except SequenceGap as gap:
            self._go_back(speaker, gap)
        except IdentityClash as clash:
            self._yield_to_twin(own, speaker, clash)
        except BadFrame as bad:
            self._wrap(speaker, lines, bad)
        except LimitExceeded:
            self._outbox.halve(len(lines))
        else:
            round_ = self._take(own, lines[:own_count], answer, received)
            self._watch(round_)
            return round_
        return self._healed()

    def _ask(self, own: Identity, lines: list[bytes]) -> tuple[ExchangeAnswer, list[bytes]]:
        ask = ExchangeAsk(
            protocol=PROTOCOL,
            nursery=own.nursery,
            writer=own.writer,
            heads=self._store.heads(),
            clock=self._clock(),
            program=self._program,
            waiting=self._outbox.waiting,
        )
        response = self._link.call(
            "POST",
            f"{own.server}/api/exchange",
            own.token,
            content=frame(ask, lines),
            headers={"Content-Type": FRAMED, "Content-Encoding": "gzip"},
        )
        try:
            answer, received = unframe(response.content, ExchangeAnswer)
        except (BadFrame, LimitExceeded) as error:
            raise WireError(f"{own.server} answered with something else than an exchange: {error}") from error
        check_protocol(answer.protocol, "the server")
        if answer.nursery != own.nursery:
            raise WireError(
                f"{own.server} keeps nursery {answer.nursery}, and this tablet belongs to {own.nursery}: "
                "nothing was taken from it; check the address"
            )
        return answer, received

    def _take(self, own: Identity, sent: list[bytes], answer: ExchangeAnswer, received: list[bytes]) -> Round:
        """Commit what the server said and sent: what came, and how far it holds the tablet's own entries."""
        speaker = self._outbox.speaker
        theirs, last = answer.heads.get(speaker.writer, 0), self._outbox.last(speaker)
        # Beyond what was sent the server compared nothing: what it holds there may be a twin's.
        compared = max(speaker.acknowledged, entry_id_of(sent[-1]).number if sent else 0)
        twin = speaker == own and theirs > last
        added = 0
        with self._store.database.writing():
            self._store.identities.acknowledge(speaker.writer, min(theirs, compared))
            self._store.settings.put(clock_off_s=answer.clock_off_s, contact=self._clock().isoformat())
            if speaker != own and min(theirs, compared) == last:
                self._outbox.settle(speaker)
            elif speaker == own and not twin:
                added = self._taken(own, received)
            if theirs < speaker.acknowledged:
                self._tell_restored(theirs)
        self._theirs = dict(answer.heads)
        if twin and not self._outbox.waiting:
            self._become_new(own, last + 1)
        held = self._store.heads()
        # By the heads, not only by the server's word: somebody may have cut its answer short, or have been faster.
        behind = answer.more or any(number > held.get(writer, 0) for writer, number in answer.heads.items())
        lost = bool(self._outbox.lost_lines(self._theirs, self._withheld, most=1))
        return Round(answer.stored, added, again=behind or lost or self._outbox.waiting > 0)

    def _taken(self, own: Identity, received: list[bytes]) -> int:
        try:
            return self._store.take(received).stored
        except BadFrame as error:
            raise WireError(f"{own.server} sent a damaged answer, of which nothing was kept: {error}") from error

    def _go_back(self, speaker: Identity, gap: SequenceGap) -> None:
        """The server was restored from a backup: it says from where on it wants entries."""
        if gap.writer == speaker.writer and 1 <= gap.expected <= speaker.acknowledged:
            with self._store.database.writing():
                self._store.identities.acknowledge(speaker.writer, gap.expected - 1)
                self._tell_restored(gap.expected - 1)
        elif gap.writer != speaker.writer and self._theirs is not None:
            self._theirs[gap.writer] = gap.expected - 1
        else:
            raise gap

    def _tell_restored(self, theirs: int) -> None:
        self._store.notices.post(
            "server_restored",
            f"the server had lost entries of this tablet from number {theirs + 1} on: they are sent again",
            self._clock(),
        )

    def _yield_to_twin(self, own: Identity, speaker: Identity, clash: IdentityClash) -> None:
        writer, number = parse_entry_id(clash.entry_id)
        if writer == own.writer:
            self._become_new(own, number)
        elif writer == speaker.writer:
            self._outbox.fork(speaker, number, self._clock())
        else:
            self._withheld.add(writer)  # whose entry it is, its own tablet and the server have to settle

    def _become_new(self, own: Identity, first: int) -> None:
        """Go on under a new name: what the server holds under the old one from `first` on is a twin's."""
        response = self._link.call("POST", f"{own.server}/api/identity", own.token)
        try:
            answer = IdentityAnswer.model_validate_json(response.content)
        except ValidationError as error:
            raise WireError(f"{own.server} answered with no identity: {response.text[:80]!r}") from error
        check_protocol(answer.protocol, "the server")
        new = Identity(answer.writer, answer.token, own.nursery, own.nursery_name, own.server)
        self._outbox.fork(own, first, self._clock(), new)

    def _wrap(self, speaker: Identity, lines: list[bytes], bad: BadFrame) -> None:
        """The server cannot make out a line (it counts from 1, the header): wrap it, or leave it to its writer."""
        if bad.line is None or not 2 <= bad.line < 2 + len(lines):
            raise bad
        entry_id = entry_id_of(lines[bad.line - 2])
        if entry_id.writer == speaker.writer:
            self._outbox.wrap(EntryId(*entry_id), self._clock())
        else:
            self._withheld.add(entry_id.writer)

    def _healed(self) -> Round:
        healed = Round(0, 0, again=True)
        self._watch(healed)
        return healed

    def _watch(self, done: Round) -> None:
        """Whatever the other side answers, a run ends: the same state may come back only so often."""
        held, theirs = sorted(self._store.heads().items()), sorted((self._theirs or {}).items())
        state = repr((self._store.identities.own, held, theirs, len(self._withheld), self._outbox.batch))
        self._met[state] += 1
        if done.again and self._met[state] > _OFTEN:
            raise WireError("the exchange goes in circles: nothing changed in several rounds; tell the office")
