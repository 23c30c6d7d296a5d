"""What the server does not have yet, and what becomes of it when the tablet has to become somebody else."""

import base64
import json
from collections.abc import Iterable, Iterator
from datetime import datetime
from typing import Any, Final

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
        own = self._store.identities.current
        return 0 if own is None else self._store.last(own.writer) - own.acknowledged

    def halve(self, refused: int) -> None:
        """The server, or something on the way, takes no request of so many entries. Raises LimitExceeded for a single one."""
        if refused <= 1:
            raise LimitExceeded("a request with a single entry is too large for the server: tell the office")
        self.batch = refused // 2

    def own_lines(self, now: datetime) -> list[bytes]:
        """The next of the tablet's own entries to send, in the order of their numbers.

        One that the disk damaged is wrapped first (see `wrap`), so that it never holds up what comes after it.
        """
        own = self._store.identities.own
        lines = []
        for number, raw in self._from(own.writer, own.acknowledged + 1):
            entry_id = EntryId(own.writer, number)
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

    def renew(self, identity: Identity, first: int, now: datetime) -> dict[str, str]:
        """Go on as somebody new: own entries from `first` on get new ids, in one transaction; gives old -> new.

        What names them follows: replaces, withdrawals, notes, fragments and dives named after them, the undo log, settings.
        """
        with self._database.writing():
            old = self._store.identities.own
            rows = self._database.rows(
                "SELECT number, raw FROM entry WHERE writer = ? AND number >= ? ORDER BY number", (old.writer, first)
            )
            ids = {
                str(EntryId(old.writer, number)): str(EntryId(identity.writer, place))
                for place, (number, _) in enumerate(rows, start=1)
            }
            lines = [_renamed(raw, EntryId(old.writer, number), ids) for number, raw in rows]
            self._database.run("DELETE FROM entry WHERE writer = ? AND number >= ?", (old.writer, first))
            self._store.identities.add(identity)
            self._store.add(lines)
            self._store.raise_heads({old.writer: first - 1})
            renaming = Renaming(ids)
            self._store.undo.rename(renaming)
            self._store.settings.rename(renaming)
            self._store.notices.post(
                "new_identity",
                f"this tablet has a twin, or was restored from a copy: it was {old.writer}, it is now {identity.writer}; "
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
