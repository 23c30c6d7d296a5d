"""Who was told that what is kept: the book that a record is held against in the end.

An entry may get another id when its tablet has to become somebody else, so the book knows entries by what no tablet
changes: each deed has a `typed_by` of its own, and its entries are counted through. Ids within an entry are translated in the
same way, so that an entry that names another one must name the same one in the end.
"""

import json
from collections import Counter
from collections.abc import Iterable, Mapping
from itertools import count
from typing import Any

from mobile.recorder import Action
from mobile.store import Store
from shared_schema.ids import parse_entry_id

__all__ = ["Ledger"]


class Ledger:
    """Every entry that anybody was told is kept."""

    def __init__(self) -> None:
        self._deeds = (f"deed-{number}" for number in count(1))
        self._said: dict[str, str] = {}

    def next_deed(self) -> str:
        """A `typed_by` that nobody had before."""
        return next(self._deeds)

    def note(self, store: Store, action: Action) -> None:
        """The store has said that it keeps what was done."""
        names = _names(store.every_line())
        for entry in action.entries:
            line = store.line(entry.entry_id)
            assert line is not None, f"{entry.id} was acknowledged and is not on disk"
            assert names[entry.id] not in self._said
            self._said[names[entry.id]] = _translated(line, names)

    def check(self, lines: Iterable[bytes]) -> None:
        """These lines hold every entry of the book once, as it was said, and nothing else that anybody typed."""
        held = list(lines)
        names = _names(held)
        kept = {names[name]: _translated(line, names) for line in held if (name := _id_of(line)) in names}
        assert len(kept) == len(names)
        assert Counter(kept.keys()) == Counter(self._said.keys())
        assert kept == self._said


def _names(lines: Iterable[bytes]) -> dict[str, str]:
    """id -> what the book calls that entry, for every entry of a deed."""
    deeds: dict[str, list[str]] = {}
    for line in lines:
        body = json.loads(line)
        if str(body.get("typed_by")).startswith("deed-"):
            deeds.setdefault(body["typed_by"], []).append(body["id"])
    return {
        name: f"{deed}.{place}"
        for deed, several in deeds.items()
        for place, name in enumerate(sorted(several, key=parse_entry_id), start=1)
    }


def _id_of(line: bytes) -> str:
    return str(json.loads(line)["id"])


def _translated(line: bytes, names: Mapping[str, str]) -> str:
    return json.dumps(_renamed(json.loads(line), names), sort_keys=True)


def _renamed(value: Any, names: Mapping[str, str]) -> Any:
    if isinstance(value, dict):
        return {name: _renamed(part, names) for name, part in value.items()}
    if isinstance(value, list):
        return sorted(_renamed(part, names) for part in value)
    if isinstance(value, str):
        sort, colon, name = value.partition(":")  # a fragment may be named after the entry that planted it
        return sort + colon + names.get(name, name) if colon else names.get(value, value)
    return value
