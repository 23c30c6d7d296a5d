"""What goes over HTTP between a tablet and the server, and its version. docs/sync-protocol.md tells the same in prose.

A *framed* body is gzip over lines of JSON: one header, then one entry a line, each exactly as its author wrote it.
"""

import gzip
import zlib
from collections.abc import Iterable
from typing import Annotated, Final, TypeVar

from pydantic import AwareDatetime, BaseModel, ConfigDict, Field, StringConstraints, ValidationError

from shared_schema.errors import (
    BadFrame,
    LimitExceeded,
    ProtocolRefused,
)
from shared_schema.ids import Name, SurveyName, WriterText

__all__ = [
    "FRAMED",
    "MAX_BATCH",
    "MAX_BODY",
    "MAX_LINE",
    "MAX_PACK",
    "MAX_PHOTO",
    "MAX_PIECE",
    "OLDEST_PROTOCOL",
    "PROTOCOL",
    "EnrolAnswer",
    "EnrolAsk",
    "ExchangeAnswer",
    "ExchangeAsk",
    "IdentityAnswer",
    "Message",
    "Offers",
    "PackAsk",
    "PackHeader",
    "PackManifest",
    "PhotoState",
    "SetAside",
    "StructureOffer",
    "SurveyOffer",
    "check_protocol",
    "frame",
    "gunzip",
    "unframe",
]

PROTOCOL: Final = 1
OLDEST_PROTOCOL: Final = 1
FRAMED: Final = "application/x-ndjson"

MAX_LINE: Final = 64 * 1024
MAX_BATCH: Final = 5_000
MAX_BODY: Final = 16 * 1024 * 1024
MAX_PACK: Final = 256 * 1024 * 1024
MAX_PHOTO: Final = 40 * 1024 * 1024
MAX_PIECE: Final = 1024 * 1024
"""Bytes, after unpacking; MAX_BATCH counts entries. A pack is a file that a tablet fetches, so it may be larger."""

Sha256 = Annotated[str, StringConstraints(pattern="^[0-9a-f]{64}$")]
Number = Annotated[int, Field(ge=0)]
Label = Annotated[str, StringConstraints(max_length=80, pattern=r"^[^\x00-\x1f\x7f]*$")]
"""One line of text: no control characters, which not every database stores."""


class Message(BaseModel):
    """What both sides ignore of the other's message is what they do not know: a newer side may say more."""

    model_config = ConfigDict(frozen=True, extra="ignore")


class EnrolAsk(Message):
    """A tablet shows the one-time code that a supervisor gave it."""

    protocol: int
    code: Annotated[str, StringConstraints(min_length=4, max_length=40)]
    name: Annotated[Label, StringConstraints(min_length=1)]


class EnrolAnswer(Message):
    """Its identity from now on. The token is shown this once; the server keeps only its hash."""

    protocol: int
    nursery: str
    nursery_name: str
    writer: WriterText
    token: str


class IdentityAnswer(Message):
    """A new identity for a tablet that was cloned or restored from a copy."""

    protocol: int
    writer: WriterText
    token: str


class ExchangeAsk(Message):
    """The header of what a tablet sends: who it is, what it holds, what its clock says; its entries follow."""

    protocol: int
    nursery: str
    writer: WriterText
    heads: dict[WriterText, Number]
    clock: AwareDatetime
    program: Label = ""
    waiting: Number = 0


class SetAside(Message):
    """An entry that is stored and folds to nothing, and why."""

    id: str
    reason: str
    detail: str


class ExchangeAnswer(Message):
    """The header of what the server answers, after the commit; entries that the tablet lacks follow.

    `more`: the tablet should ask again at once. `clock_off_s`: the tablet's clock less the server's, whole seconds.
    """

    protocol: int
    nursery: str
    heads: dict[WriterText, Number]
    stored: Number
    known: Number
    set_aside: tuple[SetAside, ...] = ()
    more: bool = False
    clock: AwareDatetime
    clock_off_s: int


class SurveyOffer(Message):
    """A planned survey; without structures named it is of all of them. `opens` and `closes` are YYYY-MM-DD, or empty."""

    id: SurveyName
    name: str
    opens: str = ""
    closes: str = ""
    structures: tuple[Name, ...] = ()


class StructureOffer(Message):
    """A structure in the record, by its id and what people call it."""

    id: Name
    name: str


class Offers(Message):
    """What packs can be asked for: surveys, latest first, and all structures."""

    protocol: int
    surveys: tuple[SurveyOffer, ...]
    structures: tuple[StructureOffer, ...]


class PackAsk(Message):
    """Which survey's map a tablet wants, and of which structures (none named: all that the survey names)."""

    protocol: int
    survey: SurveyName
    structures: tuple[Name, ...] = ()


class PackManifest(Message):
    """A pack that can now be fetched. `pack` is the SHA-256 of its bytes, under which it is fetched, in pieces or whole."""

    protocol: int
    nursery: str
    pack: Sha256
    size: Number
    entries: Number
    survey: SurveyName
    structures: tuple[Name, ...]
    clock: AwareDatetime


class PackHeader(Message):
    """The first line of a pack. With its entries, a tablet holds all that matters for these structures, up to `heads`."""

    protocol: int
    nursery: str
    survey: SurveyName
    structures: tuple[Name, ...]
    heads: dict[WriterText, Number]
    entries: Number


class PhotoState(Message):
    """How many bytes of a photo the server has, and whether it has it whole and checked."""

    sha256: Sha256
    have: Number
    complete: bool


def check_protocol(theirs: int, whose: str) -> None:
    """Raises ProtocolRefused, saying which side to update, where the other side's version is out of range."""
    if theirs < OLDEST_PROTOCOL:
        raise ProtocolRefused(
            f"{whose} speaks protocol {theirs}, too old for here ({OLDEST_PROTOCOL} to {PROTOCOL}): update {whose}"
        )
    if theirs > PROTOCOL:
        raise ProtocolRefused(
            f"{whose} speaks protocol {theirs}, which is newer than {PROTOCOL}: update the other side, or go back with {whose}"
        )


def frame(header: Message, lines: Iterable[bytes], level: int = 6) -> bytes:
    """A framed body: gzip (without a time stamp: the same content gives the same bytes) over header and entries."""
    return gzip.compress(b"\n".join([header.model_dump_json(exclude_defaults=True).encode(), *lines]), level, mtime=0)


Header = TypeVar("Header", bound=Message)


def unframe(body: bytes, header_type: type[Header], limit: int = MAX_BODY) -> tuple[Header, list[bytes]]:
    """Header and entry lines of a framed body. `body` is plain or gzip.

    Raises BadFrame where it is no framed body, LimitExceeded past `limit` bytes unpacked or MAX_LINE a line.
    """
    plain = gunzip(body, limit) if body[:2] == b"\x1f\x8b" else body
    if len(plain) > limit:
        raise LimitExceeded(f"a body of {len(plain)} bytes is over the limit of {limit}: send fewer entries at once")
    first, *lines = plain.split(b"\n")
    if lines and not lines[-1]:
        lines.pop()
    try:
        header = header_type.model_validate_json(first)
    except ValidationError as error:
        raise BadFrame(
            f"the header is no {header_type.__name__}: {error.errors(include_url=False)[0]['msg']}: {first[:80]!r}", 1
        ) from error
    for number, line in enumerate(lines, start=2):
        if len(line) > MAX_LINE:
            raise LimitExceeded(f"line {number} has {len(line)} bytes, over the limit of {MAX_LINE}")
    return header, lines


def gunzip(body: bytes, limit: int) -> bytes:
    """Unpack gzip, never to more than `limit` bytes. Raises BadFrame for damaged gzip, LimitExceeded past the limit."""
    unpacker = zlib.decompressobj(wbits=31)
    try:
        plain = unpacker.decompress(body, limit + 1)
    except zlib.error as error:
        raise BadFrame(f"damaged gzip: {error}") from error
    if len(plain) > limit:
        raise LimitExceeded(f"a body unpacks to more than {limit} bytes: send less at once")
    if not unpacker.eof or unpacker.unused_data:
        raise BadFrame("damaged gzip: cut off, or followed by something else")
    return plain
