"""What the server does not have yet, and what becomes of it when the tablet has to become somebody else."""

import base64
import json
from collections.abc import Iterable, Iterator
from datetime import datetime
from typing import Any, Final

from pydantic import JsonValue

from mobile.identity import Identity
from mobile.renaming import Renaming
from mobile.store import Store
from shared_schema.entries import entry_id_of
from shared_schema.errors import BadFrame, LimitExceeded
from shared_schema.ids import EntryId, Heads
from shared_schema.wire import MAX_BATCH

__all__ = ["BATCH_BYTES", "Outbox"]

BATCH_BYTES: Final = 4 * 1024 * 1024
"""About as much is sent in one request, before packing: a weak signal should not have to carry more twice."""

_NAMES: Final = ("id", "target", "about", "parent", "visit")


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
                lines.append(raw if _whole(raw, entry_id) else self.wrap(entry_id, now))
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
                if full or number != expected or not _whole(raw, EntryId(writer, number)):
                    break
                lines.append(raw)
                expected += 1
        return lines

    def wrap(self, entry_id: EntryId, now: datetime) -> bytes:
        """Put a damaged entry of the tablet's own into one that can travel: its number is used, its bytes are kept."""
        raw = self._store.line(entry_id) or b""
        wrapped = _json({"id": str(entry_id), "kind": "damaged", "raw": base64.b64encode(raw[:40_000]).decode()})
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

    def renew(self, into: Identity, first: int, now: datetime, former: Identity | None = None) -> dict[str, str]:
        """Go on as somebody new: own entries from `first` on get new ids, in one transaction; gives old -> new.

        What names them follows: replaces, withdrawals, notes, fragments and dives named after them, the undo log, settings.
        With `former`, an earlier identity, it is what that one left behind that goes over to the tablet's own, `into`,
        before what this one has not sent yet.
        """
        with self._database.writing():
            old = former or self._store.identities.own
            rows = self._database.rows(
                "SELECT writer, number, raw FROM entry WHERE writer = ? AND number BETWEEN ? AND ?"
                " OR writer = ? AND number > ? ORDER BY writer <> ?, number",
                (old.writer, first, self.last(old), into.writer, into.acknowledged, old.writer),
            )
            places = range(into.acknowledged + 1, into.acknowledged + 1 + len(rows))
            ids = {
                str(EntryId(writer, number)): str(EntryId(into.writer, place))
                for place, (writer, number, _) in zip(places, rows, strict=True)
            }
            lines = [_renamed(raw, EntryId(writer, number), ids) for writer, number, raw in rows]
            for writer, number, _ in rows:
                self._database.run("DELETE FROM entry WHERE writer = ? AND number = ?", (writer, number))
            if into not in self._store.identities.all:
                self._store.identities.add(into)
            self._store.add(lines)
            self._store.set_head(old.writer, first - 1)
            self.settle(old)
            renaming = Renaming(ids)
            self._store.undo.rename(renaming)
            self._store.settings.rename(renaming)
            self._store.notices.post(
                "new_identity",
                f"this tablet has a twin, or was restored from a copy: it was {old.writer}, it is now {into.writer}; "
                f"{len(ids)} entries that were not sent yet were renumbered, none was lost; use only one of the two",
                now,
            )
        return ids

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


def _whole(raw: bytes, entry_id: EntryId) -> bool:
    """Whether the other side can at least tell which entry the line is."""
    try:
        return b"\n" not in raw and entry_id_of(raw) == entry_id
    except BadFrame:
        return False


def _renamed(raw: bytes, entry_id: EntryId, ids: dict[str, str]) -> bytes:
    if not _whole(raw, entry_id):
        return _json({"id": ids[str(entry_id)], "kind": "damaged", "raw": base64.b64encode(raw[:40_000]).decode()})
    body = json.loads(raw)
    for name in _NAMES:
        if isinstance(body.get(name), str):
            body[name] = ids.get(body[name], body[name])
    if isinstance(body.get("replaces"), list):
        body["replaces"] = [ids.get(name, name) if isinstance(name, str) else name for name in body["replaces"]]
    if isinstance(body.get("subject"), str):
        sort, colon, name = body["subject"].partition(":")
        body["subject"] = sort + colon + (ids.get(name, name) if sort in ("fragment", "visit") else name)
    return _json(body)


def _json(body: dict[str, Any]) -> bytes:
    return json.dumps(body, ensure_ascii=False, separators=(",", ":")).encode()
