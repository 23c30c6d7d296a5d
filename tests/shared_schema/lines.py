"""Lines to spoil, and why nothing can be made of them."""

import json
from typing import Any, Final

import pytest

from shared_schema.entries import read_entry
from shared_schema.errors import EntryNotUnderstood

__all__ = ["RULED", "SEEN", "line", "refusal"]

SEEN: Final[dict[str, Any]] = {
    "id": "k7f3qz-1",
    "kind": "condition_seen",
    "v": 1,
    "survey": "2026-11",
    "subject": "fragment:PA-0001",
    "by": "anna",
    "observed": "2026-11-14T09:30:00+05:30",
    "entered": "2026-11-14T12:00:00Z",
    "status": "alive",
}
RULED: Final = {
    **{name: value for name, value in SEEN.items() if name != "status"},
    "id": "office2ab4-1",
    "kind": "ruling_given",
    "fact": "status",
    "value": "dead",
}


def line(body: dict[str, Any], **changes: Any) -> bytes:
    """A line of JSON with some fields changed."""
    return json.dumps(body | changes).encode()


def refusal(text: bytes | str) -> EntryNotUnderstood:
    """Why nothing can be made of a line."""
    with pytest.raises(EntryNotUnderstood) as caught:
        read_entry(text)
    return caught.value
