"""Everything that can go wrong, by what the reader can do about it.

CrosstreeError
├── SchemaError            what was written cannot be understood
│   ├── BadId              an id, address, tag or survey name is malformed
│   ├── DesignError        a structure's parameters make no structure
│   ├── BadFrame           a line is no entry at all: not JSON, or without an id
│   └── EntryNotUnderstood well framed, yet damaged, newer than this program, or not allowed
├── RecordError            the record would stop being one history
│   ├── SequenceGap        a writer's numbers would have a hole
│   ├── IdentityClash      one id, two different contents: a cloned or restored tablet
│   └── NothingSuch        a name that the record does not hold
├── WireError              two programs do not get along
│   ├── ProtocolRefused    the other side speaks a version too old or too new
│   ├── LimitExceeded      a body, batch or photo is larger than agreed
│   ├── HashMismatch       what arrived is not what was promised
│   └── Unreachable        nobody answered, or only with an error, however often it was tried
├── NotAllowed             who asks may not: no token, withdrawn, unknown code
│   ├── SpentCode          a one-time code that was used already, or is too old
│   └── TooManyTries       too many wrong codes in a short time
└── StorageError           the disk or database did not take it
"""

__all__ = [
    "BadFrame",
    "BadId",
    "CrosstreeError",
    "DesignError",
    "EntryNotUnderstood",
    "HashMismatch",
    "IdentityClash",
    "LimitExceeded",
    "NotAllowed",
    "NothingSuch",
    "ProtocolRefused",
    "RecordError",
    "SchemaError",
    "SequenceGap",
    "SpentCode",
    "StorageError",
    "TooManyTries",
    "Unreachable",
    "WireError",
]


class CrosstreeError(Exception):
    """Anything this project raises on purpose; the message names the thing, its value and what to do.

    Where people may read it in another language, the message has named places, as %(name)s, and the values come apart.
    """

    def __init__(self, message: str = "", /, **values: object) -> None:
        super().__init__(message % values if values else message)
        self.message, self.values = message, values


class SchemaError(CrosstreeError, ValueError):
    """What was written cannot be understood."""


class BadId(SchemaError):
    """An id, address, tag code or survey name is malformed."""


class DesignError(SchemaError):
    """A structure's parameters make no structure."""


class BadFrame(SchemaError):
    """A line is no entry at all: not JSON, or without an id. Nothing of the message is stored."""

    def __init__(self, message: str, line: int | None = None) -> None:
        super().__init__(message if line is None else f"line {line}: {message}")
        self.line = line


class EntryNotUnderstood(SchemaError):
    """A well-framed entry that folds to nothing; `reason` is "unknown", "newer", "damaged" or "not_allowed"."""

    def __init__(self, reason: str, detail: str) -> None:
        super().__init__(detail)
        self.reason = reason
        self.detail = detail


class RecordError(CrosstreeError):
    """The record would stop being one history."""


class SequenceGap(RecordError):
    """A writer's numbers would have a hole."""

    def __init__(self, writer: str, expected: int, got: int) -> None:
        super().__init__(f"entries of {writer} go on at number {expected}, but {got} came: send {writer}-{expected} first")
        self.writer, self.expected, self.got = writer, expected, got


class IdentityClash(RecordError):
    """One id, two different contents: the tablet was cloned, or restored from a copy."""

    def __init__(self, entry_id: str) -> None:
        super().__init__(
            f"entry {entry_id} is already known with other content: this tablet was cloned or restored from a copy; "
            "it needs a new identity before it can send (nothing that it holds is lost)"
        )
        self.entry_id = entry_id


class NothingSuch(RecordError, LookupError):
    """A name that the record does not hold."""


class WireError(CrosstreeError):
    """Two programs do not get along."""


class ProtocolRefused(WireError):
    """The other side speaks a protocol version that is too old or too new."""


class LimitExceeded(WireError):
    """A body, batch or photo is larger than agreed."""


class HashMismatch(WireError):
    """What arrived is not what was promised; it was thrown away."""


class Unreachable(WireError):
    """Nobody answered, or only with an error, however often it was tried; it can be tried again at any time."""


class NotAllowed(CrosstreeError):
    """Who asks may not: no token, a withdrawn tablet, a spent or unknown code."""


class SpentCode(NotAllowed):
    """A one-time code that was used already, or is too old: ask for another."""


class TooManyTries(NotAllowed):
    """Too many wrong codes in a short time: wait, then try again."""


class StorageError(CrosstreeError):
    """The disk or the database did not take it; nothing of the request was kept."""
