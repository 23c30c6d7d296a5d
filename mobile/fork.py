"""What becomes of entries whose numbers somebody else has used: they leave their writer, for a name that they give themselves.

The name of a fork comes of its first entry and of nothing else. However many copies of a tablet hold the same entries, and
whoever of them comes first, all give them the same names: they arrive once.
"""

import base64
import json
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any, Final

from shared_schema.entries import entry_id_of
from shared_schema.errors import BadFrame
from shared_schema.ids import EntryId, fork_writer

__all__ = ["Fork", "damaged_line", "fork_off", "is_whole", "renamed"]

_NAMES: Final = ("id", "target", "about", "parent", "visit")


@dataclass(frozen=True, slots=True)
class Fork:
    """`ids`: old -> new; `lines`: the entries under their new ids; the last of them is number `last` of `writer`."""

    writer: str
    last: int
    ids: Mapping[str, str]
    lines: Sequence[bytes]


def fork_off(first: EntryId, raws: Sequence[bytes], held: Callable[[EntryId], bytes | None]) -> Fork:
    """The entries `raws`, at least one, numbered on from `first`, as a fork of its writer.

    `held` gives the line of an id that is on this tablet. A copy may have brought a fork of the same name that goes on
    otherwise: then what differs forks off from that.
    """
    old = [EntryId(first.writer, first.number + place) for place in range(len(raws))]
    ids: dict[str, str] = {}
    lines: list[bytes] = []
    now, rest = old, list(raws)
    writer, agree = first.writer, 0
    while rest:
        writer = fork_writer(now[0], rest[0])
        new = [EntryId(writer, number) for number in range(1, len(rest) + 1)]
        step = {str(one): str(other) for one, other in zip(now, new, strict=True)}
        rest = [renamed(raw, one, step) for one, raw in zip(now, rest, strict=True)]
        agree = next((place for place, one in enumerate(new) if held(one) not in (None, rest[place])), len(rest))
        ids |= {str(one): str(other) for one, other in zip(old[len(lines) :], new[:agree], strict=False)}
        lines += rest[:agree]
        now, rest = new[agree:], rest[agree:]
    return Fork(writer, agree, ids, lines)


def renamed(raw: bytes, entry_id: EntryId, ids: Mapping[str, str]) -> bytes:
    """A line in which every id of `ids` is the new one; the same bytes where it names none of them."""
    if not is_whole(raw, entry_id):
        return damaged_line(ids[str(entry_id)], raw) if str(entry_id) in ids else raw
    body = json.loads(raw)
    before = dict(body)
    for name in _NAMES:
        if isinstance(body.get(name), str):
            body[name] = ids.get(body[name], body[name])
    if isinstance(body.get("replaces"), list):
        body["replaces"] = [ids.get(name, name) if isinstance(name, str) else name for name in body["replaces"]]
    if isinstance(body.get("subject"), str):
        sort, colon, name = body["subject"].partition(":")
        body["subject"] = sort + colon + (ids.get(name, name) if sort in ("fragment", "visit") else name)
    return raw if body == before else _json(body)


def damaged_line(entry_id: str, raw: bytes) -> bytes:
    """An entry that can travel, around what the disk left of one."""
    return _json({"id": entry_id, "kind": "damaged", "raw": base64.b64encode(raw[:40_000]).decode()})


def is_whole(raw: bytes, entry_id: EntryId) -> bool:
    """Whether the other side can at least tell which entry the line is."""
    try:
        return b"\n" not in raw and entry_id_of(raw) == entry_id
    except BadFrame:
        return False


def _json(body: dict[str, Any]) -> bytes:
    return json.dumps(body, ensure_ascii=False, separators=(",", ":")).encode()
