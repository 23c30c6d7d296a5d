"""What goes over the wire: framed and unframed the same, and whatever is damaged, cut off or too large is refused."""

import gzip
import tracemalloc
import zlib
from contextlib import suppress
from datetime import UTC, datetime
from typing import Any, Final

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st
from pydantic import ValidationError

from shared_schema.entries import write_entry
from shared_schema.errors import BadFrame, CrosstreeError, LimitExceeded, ProtocolRefused, Unreachable
from shared_schema.problems import PROBLEMS, Problem, problem_slug
from shared_schema.wire import (
    MAX_LINE,
    OLDEST_PROTOCOL,
    PROTOCOL,
    EnrolAsk,
    ExchangeAnswer,
    ExchangeAsk,
    Message,
    PackHeader,
    SetAside,
    check_protocol,
    frame,
    gunzip,
    unframe,
)
from tests.laws.effort import FEWER
from tests.shared_schema.alphabets import NAMES, SURVEYS, WRITERS
from tests.shared_schema.kinds import ENTRIES, MOMENTS

NUMBERS: Final = st.integers(0, 10**12)
HEADS: Final = st.dictionaries(WRITERS, NUMBERS, max_size=3)
TEXTS: Final = st.text(max_size=12)

HEADERS: Final[dict[type[Message], st.SearchStrategy[Any]]] = {
    ExchangeAsk: st.builds(
        ExchangeAsk,
        protocol=st.integers(1, 9),
        nursery=TEXTS,
        writer=WRITERS,
        heads=HEADS,
        clock=MOMENTS,
        program=st.just("tablet 1.2"),
        waiting=NUMBERS,
    ),
    ExchangeAnswer: st.builds(
        ExchangeAnswer,
        protocol=st.integers(1, 9),
        nursery=TEXTS,
        heads=HEADS,
        stored=NUMBERS,
        known=NUMBERS,
        set_aside=st.lists(st.builds(SetAside, id=TEXTS, reason=TEXTS, detail=TEXTS), max_size=2).map(tuple),
        more=st.booleans(),
        clock=MOMENTS,
        clock_off_s=st.integers(-(10**9), 10**9),
    ),
    PackHeader: st.builds(
        PackHeader,
        protocol=st.integers(1, 9),
        nursery=TEXTS,
        survey=SURVEYS,
        structures=st.lists(NAMES, max_size=3).map(tuple),
        heads=HEADS,
        entries=NUMBERS,
    ),
}
LINES: Final = st.lists(st.one_of(*ENTRIES.values()).map(write_entry), max_size=3)
ASK: Final = ExchangeAsk(protocol=1, nursery="n", writer="k7f3qz", heads={}, clock=datetime(2026, 11, 14, tzinfo=UTC))
BODY: Final = frame(ASK, [b'{"id":"k7f3qz-1"}', b'{"id":"k7f3qz-2"}'])
PLAIN: Final = gzip.decompress(BODY)


@given(header=st.one_of(*HEADERS.values()), lines=LINES)
@FEWER
def test_what_is_framed_is_unframed_the_same(header: Message, lines: list[bytes]) -> None:
    """Header and entries arrive as they were sent, the entries byte for byte, packed or plain."""
    body = frame(header, lines)
    assert unframe(body, type(header)) == (header, lines)
    assert unframe(gzip.decompress(body), type(header)) == (header, lines)
    assert unframe(gzip.decompress(body) + b"\n", type(header)) == (header, lines)


@given(header=st.one_of(*HEADERS.values()), lines=LINES, level=st.integers(1, 9))
@FEWER
def test_the_same_content_makes_the_same_bytes(header: Message, lines: list[bytes], level: int) -> None:
    """No time stamp hides in a body: a pack is known by the hash of its bytes."""
    again = type(header).model_validate_json(header.model_dump_json())
    assert frame(again, iter(lines), level) == frame(header, lines, level)
    assert frame(header, lines)[4:8] == bytes(4)  # the time of the gzip header, RFC 1952


@given(cut=st.integers(1, len(BODY)))
def test_a_body_cut_off_anywhere_is_refused(cut: int) -> None:
    """A connection that broke leaves nothing half read."""
    with pytest.raises(BadFrame):
        unframe(BODY[:-cut], ExchangeAsk)


@given(rubbish=st.binary(min_size=1, max_size=40))
def test_what_follows_a_packed_body_is_refused(rubbish: bytes) -> None:
    """Rubbish, or a second body, is not quietly left out."""
    for more in (rubbish, BODY):
        with pytest.raises(BadFrame, match="damaged gzip"):
            unframe(BODY + more, ExchangeAsk)


@given(place=st.integers(10, len(BODY) - 1), flip=st.integers(1, 255))
def test_a_body_with_one_byte_changed_never_says_anything_else(place: int, flip: int) -> None:
    """Behind its header of ten bytes gzip's check sum guards all but the bits that fill up the last byte."""
    damaged = bytearray(BODY)
    damaged[place] ^= flip
    with suppress(BadFrame):
        assert unframe(bytes(damaged), ExchangeAsk) == unframe(BODY, ExchangeAsk)
        assert place == len(BODY) - 9  # check sum and length follow in eight bytes


@given(body=st.binary(max_size=60))
@FEWER
def test_what_is_no_body_at_all_is_refused(body: bytes) -> None:
    """Random bytes, plain or as gzip, are never taken for a header."""
    for some in (body, gzip.compress(body), b"\x1f\x8b" + body):
        with pytest.raises(BadFrame):
            unframe(some, ExchangeAsk)


def test_a_body_that_lacks_something_is_refused_naming_line_and_header() -> None:
    """The message says what was expected and shows how the line began."""
    with pytest.raises(BadFrame, match=r"line 1: the header is no ExchangeAsk: Field required: b'\{") as caught:
        unframe(b'{"protocol":1}', ExchangeAsk)
    assert caught.value.line == 1


def test_a_newer_side_may_say_more() -> None:
    """Header fields that this program does not know are passed over."""
    first, _, rest = PLAIN.partition(b"\n")
    newer = first[:-1] + b',"weather":"fair"}\n' + rest
    assert unframe(newer, ExchangeAsk) == unframe(BODY, ExchangeAsk)


def test_a_body_may_be_as_large_as_agreed_and_not_a_byte_larger() -> None:
    """Packed or plain, what counts is the size unpacked."""
    for body in (BODY, PLAIN):
        assert unframe(body, ExchangeAsk, limit=len(PLAIN)) == unframe(BODY, ExchangeAsk)
        with pytest.raises(LimitExceeded, match=str(len(PLAIN) - 1)):
            unframe(body, ExchangeAsk, limit=len(PLAIN) - 1)


def test_a_line_may_be_as_long_as_agreed_and_not_a_byte_longer() -> None:
    """An entry that no store would take is refused by its line's number."""
    longest = b"x" * MAX_LINE
    assert unframe(frame(ASK, [b"{}", longest]), ExchangeAsk)[1][1] == longest
    with pytest.raises(LimitExceeded, match=f"line 3 has {MAX_LINE + 1} bytes"):
        unframe(frame(ASK, [b"{}", longest + b"x"]), ExchangeAsk)


def test_a_gzip_bomb_is_refused_without_being_unpacked() -> None:
    """64 MiB of nothing in 64 KiB costs no more memory than the limit and a little."""
    packer = zlib.compressobj(9, wbits=31)
    bomb = b"".join(packer.compress(bytes(1024 * 1024)) for _ in range(64)) + packer.flush()
    limit = 1024 * 1024
    tracemalloc.start()
    try:
        with pytest.raises(LimitExceeded, match="unpacks to more than"):
            gunzip(bomb, limit)
        _, peak = tracemalloc.get_traced_memory()
    finally:
        tracemalloc.stop()
    assert peak < 4 * limit


@given(content=st.binary(max_size=300), limit=st.integers(0, 300))
def test_unpacking_gives_the_content_or_says_that_it_is_too_large(content: bytes, limit: int) -> None:
    """Nothing is cut to fit."""
    if len(content) <= limit:
        assert gunzip(gzip.compress(content), limit) == content
    else:
        with pytest.raises(LimitExceeded):
            gunzip(gzip.compress(content), limit)


@given(theirs=st.integers(-3, 1000))
def test_only_a_version_within_the_range_is_spoken_with(theirs: int) -> None:
    """Too old or too new, the message says which side to update."""
    assume(not OLDEST_PROTOCOL <= theirs <= PROTOCOL)
    with pytest.raises(ProtocolRefused, match=f"the tablet speaks protocol {theirs}.*update the (tablet|other side)"):
        check_protocol(theirs, "the tablet")


def test_every_version_in_the_range_is_spoken_with() -> None:
    """A newer server still serves the tablets that it says it serves."""
    for version in range(OLDEST_PROTOCOL, PROTOCOL + 1):
        check_protocol(version, "the tablet")


def leaves(kind: type[CrosstreeError]) -> set[type[CrosstreeError]]:
    """The errors that nothing is derived from."""
    children = kind.__subclasses__()
    return {leaf for child in children for leaf in leaves(child)} if children else {kind}


def test_every_error_but_silence_can_be_told_over_http() -> None:
    """A tablet learns what went wrong, and not just that something did. Who is not reached tells nothing."""
    shared = {kind for kind in leaves(CrosstreeError) if kind.__module__ == CrosstreeError.__module__}  # a side has its own too
    assert shared - {Unreachable} <= PROBLEMS.keys()
    assert Unreachable not in PROBLEMS


def test_problems_are_told_apart_by_their_slugs() -> None:
    """From a problem's type follows which error it was."""
    slugs = [slug for slug, _, _ in PROBLEMS.values()]
    assert len(set(slugs)) == len(slugs)
    for slug, title, status in PROBLEMS.values():
        problem = Problem(type=f"urn:crosstree:problem:{slug}", title=title, status=status, detail="x")
        assert problem_slug(problem) == slug
        assert 400 <= status < 600


@pytest.mark.parametrize("name", ["", "x" * 81, "two\nlines", "nul\x00"])
def test_a_tablets_name_is_one_line_of_text(name: str) -> None:
    """What a database would choke on is refused at the door."""
    with pytest.raises(ValidationError):
        EnrolAsk(protocol=1, code="ABCD-1", name=name)
    assert EnrolAsk(protocol=1, code="ABCD-1", name="Tablet 3, ก้น").name == "Tablet 3, ก้น"
