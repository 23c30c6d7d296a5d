"""Lines that no program of ours would write: odd, strange, damaged, refused, and battered in any way."""

import json
from typing import Any, Final

from hypothesis import strategies as st

from shared_schema.entries import KINDS, write_entry
from shared_schema.errors import BadFrame, CrosstreeError, IdentityClash, SequenceGap
from tests.laws.voices import noted, ruled, said, took_back

__all__ = ["ODD", "REFUSED", "STRANGE", "TAGGED", "battered"]

ODD: Final = (
    b'{ "subject":"fragment:PA-0001", "id":"k7f3qz-1","kind":"condition_seen","survey":"2026-11","by":"ana",'
    b'"observed":"2026-11-14T09:00:00+10:00","entered":"2026-11-14T09:00:01.5+10:00","status":"\\u0061live" }'
)
_ENVELOPE: Final = b'"by":"ana","observed":"2026-11-14T09:00:00Z","entered":"2026-11-14T09:00:00Z"}'
STRANGE: Final = (
    b'{"id":"tt9xx9-%d","kind":"condition_seen","v":99,"survey":"2026-11","subject":"fragment:PA-0001","mood":"fine"}',
    b'{"kind":"moon_seen","id":"tt9xx9-%d","v":1,"phase":"full"}',
    b'{"id":"tt9xx9-%d"}',
    b'{"id":"tt9xx9-%d","kind":["condition_seen"],"v":"1"}',
    b'{"id":"tt9xx9-%d","kind":"condition_seen","subject":"fragment:PA-0001","status":"purple",' + _ENVELOPE,
    b'{"id":"tt9xx9-%d","kind":"ruling_given","subject":"fragment:PA-0001","fact":"status","value":"dead",' + _ENVELOPE,
)
"""Lines that have an id and make no entry, the last one because no tablet rules; each takes its number."""

_FIRST: Final = write_entry(said("m2w8rd-1", "ben"))
_OTHER: Final = write_entry(said("m2w8rd-1", "ben", status="dead"))
REFUSED: Final[dict[str, tuple[type[CrosstreeError], list[bytes]]]] = {
    "a hole": (SequenceGap, [_FIRST, b'{"id":"k7f3qz-3"}']),
    "a beginning that is missing": (SequenceGap, [b'{"id":"m2w8rd-2"}']),
    "another content": (IdentityClash, [_FIRST, b'{"id":"k7f3qz-1"}']),
    "the same words written otherwise": (IdentityClash, [_FIRST, _FIRST.replace(b",", b", ", 1)]),
    "two contents at once": (IdentityClash, [_FIRST, _OTHER]),
    "no JSON": (BadFrame, [_FIRST, b"nothing"]),
    "no object": (BadFrame, [_FIRST, b'["m2w8rd-2"]']),
    "no id": (BadFrame, [_FIRST, b'{"kind":"note_made"}']),
    "an id that is none": (BadFrame, [_FIRST, b'{"id":"m2w8rd-02"}']),
    "bytes that are no text": (BadFrame, [_FIRST, b'{"id":"m2w8rd-2","x":"\xff"}']),
    "half a character": (BadFrame, [_FIRST, b'{"id":"m2w8rd-2","x":"\\ud800"}']),
    "brackets without end": (BadFrame, [_FIRST, b'{"id":"m2w8rd-2","x":' + b"[" * 60_000]),
    "brackets beyond reason": (BadFrame, [_FIRST, b'{"id":"m2w8rd-2","x":' + b"[" * 30_000 + b"]" * 30_000 + b"}"]),
    "nothing": (BadFrame, [_FIRST, b""]),
}
"""Pushes to a record that holds another entry k7f3qz-1, each with what it is refused as."""

TAGGED: Final[dict[str, Any]] = json.loads(
    b'{"kind":"tag_checked","tag_state":"readable","subject":"fragment:PA-0001",' + _ENVELOPE
)
_json_values: Final = st.recursive(
    st.none() | st.booleans() | st.integers() | st.floats() | st.text(),
    lambda some: st.lists(some) | st.dictionaries(st.text(), some),
    max_leaves=8,
)
_bodies: Final[st.SearchStrategy[dict[str, Any]]] = st.sampled_from(
    [
        said("k7f3qz-1", "ana", status="sick", live_tissue=40, signs=("band",), overgrowth=("algae",), seen_at="T01/1.1.1"),
        noted("k7f3qz-1", "ana", text="two\nlines"),
        took_back("k7f3qz-1", "ana", "m2w8rd-1"),
        ruled("office2ab4-1", "vera", "dead"),
    ]
).map(lambda entry: json.loads(write_entry(entry)))
_made_up: Final = st.fixed_dictionaries({"kind": st.sampled_from([*KINDS, "moon_seen"])})


@st.composite
def battered(draw: st.DrawFn) -> dict[str, Any]:
    """An entry in which something was lost, changed or added, or a made-up one; its id is to come."""
    body = dict(draw(st.one_of(_bodies, _bodies, st.just(TAGGED), _made_up)))
    for _ in range(draw(st.integers(0, 2))):
        body[draw(st.sampled_from([*body, "tag", "text", "design"]) | st.text(min_size=1))] = draw(_json_values)
    for name in draw(st.lists(st.sampled_from(sorted(body)), max_size=1)):
        del body[name]
    return body
