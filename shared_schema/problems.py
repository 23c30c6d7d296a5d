"""Refusals on the wire: problem details, and which error is which of them. docs/sync-protocol.md says what to do at each."""

from collections.abc import Mapping
from typing import Final

from pydantic import ConfigDict

from shared_schema.errors import (
    BadFrame,
    BadId,
    CrosstreeError,
    DesignError,
    EntryNotUnderstood,
    HashMismatch,
    IdentityClash,
    LimitExceeded,
    NotAllowed,
    NothingSuch,
    ProtocolRefused,
    SequenceGap,
    SpentCode,
    StorageError,
    TooManyTries,
)
from shared_schema.wire import Message

__all__ = ["PROBLEMS", "Problem", "problem_slug"]


class Problem(Message):
    """Problem details, RFC 9457. `type` is `urn:crosstree:problem:<slug>`; further members depend on the slug."""

    model_config = ConfigDict(frozen=True, extra="allow")

    type: str
    title: str
    status: int
    detail: str


PROBLEMS: Final[Mapping[type[CrosstreeError], tuple[str, str, int]]] = {
    BadFrame: ("bad-frame", "A line is no entry", 400),
    BadId: ("bad-id", "A name is malformed", 400),
    DesignError: ("bad-design", "A design makes no structure", 400),
    EntryNotUnderstood: ("not-understood", "An entry cannot be understood", 400),
    ProtocolRefused: ("protocol-refused", "The two programs are too far apart", 400),
    NotAllowed: ("not-allowed", "Not allowed", 401),
    SpentCode: ("spent-code", "The code was used, or is too old", 401),
    TooManyTries: ("too-many-tries", "Too many tries", 429),
    NothingSuch: ("nothing-such", "Not in the record", 404),
    SequenceGap: ("sequence-gap", "Entries are missing before these", 409),
    IdentityClash: ("identity-clash", "One id, two contents", 409),
    LimitExceeded: ("limit-exceeded", "Too large", 413),
    HashMismatch: ("hash-mismatch", "Not what was promised", 422),
    StorageError: ("storage-failed", "The server could not store it", 507),
}
"""error -> (slug, title, HTTP status)."""


def problem_slug(problem: Problem) -> str:
    """The last part of the problem's type."""
    return problem.type.rpartition(":")[2]
