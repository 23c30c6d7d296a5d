"""What the server does not have yet, and what becomes of it when the tablet has to become somebody else."""

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import replace
from datetime import datetime
from typing import Final

from pydantic import JsonValue

from mobile.fork import Fork, damaged_line, fork_off, is_whole, renamed
from mobile.identity import Identity
from mobile.renaming import Renaming
from mobile.store import Store
from shared_schema.errors import LimitExceeded
from shared_schema.ids import EntryId, Heads
from shared_schema.wire import MAX_BATCH

__all__ = ["BATCH_BYTES", "Outbox"]

BATCH_BYTES: Final = 4 * 1024 * 1024
"""About as much is sent in one request, before packing: a weak signal should not have to carry more twice."""


class Outbox:
    """The tablet's own entries on their way to the server, and those of others that a restored server lost."""

    def __init__(self, store: Store, batch: int = MAX_BATCH, batch_bytes: int = BATCH_BYTES) -> None:
        self._store = store
        self._database = store.database
        self.batch, self._batch_bytes = batch, batch_bytes

    @property
    def waiting(self) -> int:
        """How many of the tablet's own entries the server has not acknowledged."""
        return sum(self.last(one) - one.acknowledged for one in self._store.identities.all if self.speaks(one))

    @property
    def speaker(self) -> Identity:
        """Whose entries go next: an earlier identity's until what it left behind is settled, then the tablet's own."""
        own = self._store.identities.own
        return next((one for one in self._store.identities.all if self.speaks(one)), own)

    def last(self, speaker: Identity) -> int:
        """The last number to be sent for one of the tablet's identities."""
        upto = self._left.get(speaker.writer)
        return upto if isinstance(upto, int) else self._store.last(speaker.writer)

    def leave(self, former: Identity) -> None:
        """An identity ends here. What it has not sent goes first from now on: a twin may have sent the like of it."""
        last = self._store.last(former.writer)
        if last > former.acknowledged:
            self._store.settings.put(left=self._left | {former.writer: last})

    def settle(self, former: Identity) -> None:
        """Nothing of an earlier identity is left."""
        self._store.settings.put(left={name: upto for name, upto in self._left.items() if name != former.writer})

    def speaks(self, one: Identity) -> bool:
        """Whether entries are sent under the name of this identity: the tablet's own, or one that left some behind."""
        return one.writer in self._left or one == self._store.identities.current

    @property
    def _left(self) -> dict[str, JsonValue]:
        left = self._store.settings.get("left")
        return left if isinstance(left, dict) else {}

    def halve(self, refused: int) -> None:
        """The server, or something on the way, takes no request of so many entries. Raises LimitExceeded for a single one."""
        if refused <= 1:
            raise LimitExceeded("a request with a single entry is too large for the server: tell the office")
        self.batch = refused // 2

    def own_lines(self, now: datetime) -> list[bytes]:
        """The next of the tablet's own entries to send, in the order of their numbers.

        One that the disk damaged is wrapped first (see `wrap`), so that it never holds up what comes after it.
        """
        speaker = self.speaker
        last = self.last(speaker)
        lines = []
        for number, raw in self._from(speaker.writer, speaker.acknowledged + 1):
            if number <= last:
                entry_id = EntryId(speaker.writer, number)
                lines.append(raw if is_whole(raw, entry_id) else self.wrap(entry_id, now))
        return lines

    def lost_lines(self, theirs: Heads, withheld: Iterable[str] = (), most: int | None = None) -> list[bytes]:
        """Entries of others that the server, by its heads, no longer holds: as far as they are here without a gap."""
        most = self.batch if most is None else most
        own = self._store.identities.own.writer
        lines: list[bytes] = []
        size = 0
        for writer, head in sorted(self._store.heads().items()):
            expected = theirs.get(writer, 0) + 1
            if writer == own or writer in withheld or head < expected:
                continue
            for number, raw in self._from(writer, expected):
                size += len(raw)
                full = len(lines) >= most or (lines and size > self._batch_bytes)
                if full or number != expected or not is_whole(raw, EntryId(writer, number)):
                    break
                lines.append(raw)
                expected += 1
        return lines

    def wrap(self, entry_id: EntryId, now: datetime) -> bytes:
        """Put a damaged entry of the tablet's own into one that can travel: its number is used, its bytes are kept."""
        raw = self._store.line(entry_id) or b""
        wrapped = damaged_line(str(entry_id), raw)
        with self._database.writing():
            self._database.run(
                "UPDATE entry SET survey = '', subject = '', place = NULL, raw = ? WHERE writer = ? AND number = ?",
                (wrapped, *entry_id),
            )
            self._store.notices.post(
                "damaged_entry",
                f"entry {entry_id} was damaged on this tablet's disk; what is left of it goes to the office: "
                "look at what was recorded around it",
                now,
            )
        return wrapped

    def fork(self, speaker: Identity, first: int, now: datetime, new: Identity | None = None) -> Mapping[str, str]:
        """A speaker's entries from `first` on, which were not sent, go on as a fork of it, in one transaction; gives old -> new id.

        Somebody else used their numbers. `new` is who the tablet is from now on, where the speaker was its own identity.
        What names the entries follows: what else was not sent, fragments and dives named after them, the undo log, settings.
        """
        with self._database.writing():
            rows = self._database.rows(
                "SELECT raw FROM entry WHERE writer = ? AND number BETWEEN ? AND ? ORDER BY number",
                (speaker.writer, first, self.last(speaker)),
            )
            ids: Mapping[str, str] = {}
            if new is not None:
                self._store.identities.add(new)
            if rows:
                fork = fork_off(EntryId(speaker.writer, first), [row[0] for row in rows], self._store.line)
                ids = fork.ids
                self._replace(speaker, first, fork)
            self._store.identities.acknowledge(speaker.writer, first - 1)
            self._store.set_head(speaker.writer, first - 1)
            self.settle(speaker)
            self._store.notices.post(
                "new_identity",
                f"this tablet has a twin, or was restored from a copy: it was {speaker.writer}, it is now "
                f"{self._store.identities.own.writer}; {len(ids)} entries that were not sent yet were renumbered, "
                "none was lost; use only one of the two",
                now,
            )
        return ids

    def _replace(self, speaker: Identity, first: int, fork: Fork) -> None:
        self._database.run(
            "DELETE FROM entry WHERE writer = ? AND number BETWEEN ? AND ?", (speaker.writer, first, self.last(speaker))
        )
        self._store.add(fork.lines)
        self._store.raise_heads({fork.writer: fork.last})
        self._store.identities.add_fork(replace(speaker, writer=fork.writer, token="", acknowledged=0), speaker.writer)
        self._store.settings.put(left=self._left | {fork.writer: fork.last})
        for one in self._store.identities.all:
            if self.speaks(one) and one.writer not in (speaker.writer, fork.writer):
                self._rename_unsent(one, fork.ids)
        renaming = Renaming(fork.ids)
        self._store.undo.rename(renaming)
        self._store.settings.rename(renaming)

    def _rename_unsent(self, one: Identity, ids: Mapping[str, str]) -> None:
        rows = self._database.rows(
            "SELECT number, raw FROM entry WHERE writer = ? AND number BETWEEN ? AND ?",
            (one.writer, one.acknowledged + 1, self.last(one)),
        )
        for number, raw in rows:
            line = renamed(raw, EntryId(one.writer, number), ids)
            if line != raw:
                self._database.run("DELETE FROM entry WHERE writer = ? AND number = ?", (one.writer, number))
                self._store.add([line])

    def _from(self, writer: str, first: int) -> Iterator[tuple[int, bytes]]:
        size = 0
        for number, raw in self._database.rows(
            "SELECT number, raw FROM entry WHERE writer = ? AND number >= ? ORDER BY number LIMIT ?",
            (writer, first, self.batch),
        ):
            size += len(raw)
            if size > self._batch_bytes and number > first:
                return
            yield number, raw
