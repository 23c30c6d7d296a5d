"""Entries that leave their writer: whoever holds the same ones gives them the same names."""

import hashlib
import json

from hypothesis import given
from hypothesis import strategies as st

from mobile.fork import fork_off, renamed
from shared_schema.ids import EntryId, fork_writer, is_office, parse_entry_id

FIRST = EntryId("k7f3qz", 12)


def note(number: int, text: str, *replaces: int) -> bytes:
    """A line of the writer that was copied."""
    body = {"id": f"k7f3qz-{number}", "kind": "note_made", "subject": "structure:T01", "text": text}
    return json.dumps(body | {"replaces": [f"k7f3qz-{one}" for one in replaces]}).encode()


def nothing(_: EntryId) -> None:
    """A tablet that holds none of a fork yet."""


texts = st.lists(st.text(max_size=5), max_size=4)


def notes(several: list[str]) -> list[bytes]:
    """Each replaces the one before it."""
    return [note(12 + place, text, 11 + place) for place, text in enumerate(several)]


@given(st.text(max_size=5), texts, texts, texts)
def test_copies_give_what_they_share_the_same_names(first: str, shared: list[str], one: list[str], other: list[str]) -> None:
    """However each goes on."""
    common = [first, *shared]
    mine = fork_off(FIRST, notes(common + one), nothing)
    theirs = fork_off(FIRST, notes(common + other), nothing)
    assert mine.lines[: len(common)] == theirs.lines[: len(common)]
    assert [json.loads(line)["id"] for line in mine.lines] == list(mine.ids.values())
    assert list(mine.ids.values()) == [f"{mine.writer}-{number + 1}" for number in range(mine.last)]


@given(st.text(max_size=5), texts, texts, texts)
def test_where_a_fork_of_that_name_goes_on_otherwise_it_forks_again(
    first: str, shared: list[str], one: list[str], other: list[str]
) -> None:
    """What the other copy brought stays as it is; every entry is there once, and names the one before it."""
    theirs = {
        parse_entry_id(json.loads(line)["id"]): line for line in fork_off(FIRST, notes([first, *shared, *other]), nothing).lines
    }
    said = [first, *shared, *one]
    mine = fork_off(FIRST, notes(said), theirs.get)
    lines = {parse_entry_id(json.loads(line)["id"]): line for line in mine.lines}
    assert all(theirs.get(name, line) == line for name, line in lines.items())
    bodies = [json.loads(line) for line in mine.lines]
    assert [body["text"] for body in bodies] == said
    assert [body["id"] for body in bodies] == list(mine.ids.values())
    assert [body["replaces"] for body in bodies] == [["k7f3qz-11"], *([body["id"]] for body in bodies[:-1])]
    assert mine.last == sum(name.writer == mine.writer for name in lines)


@given(st.binary(max_size=40))
def test_what_the_disk_damaged_forks_off_too(line: bytes) -> None:
    """Its bytes travel in an entry that has an id."""
    fork = fork_off(FIRST, [line], nothing)
    body = json.loads(fork.lines[0])
    assert (body["id"], body["kind"]) == (f"{fork.writer}-1", "damaged")


def test_a_line_that_names_no_entry_which_forks_off_stays_byte_for_byte() -> None:
    """Its blanks too."""
    line = note(7, "as it was", 3)
    assert renamed(line, EntryId("k7f3qz", 7), {"k7f3qz-12": "n"}) is line
    assert renamed(b"damaged", EntryId("k7f3qz", 7), {"k7f3qz-12": "n"}) == b"damaged"


@given(st.binary())
def test_no_fork_can_call_itself_an_office_or_a_tablet(line: bytes) -> None:
    """The name is as the protocol says: eight letters by a hash."""
    writer = fork_writer(FIRST, line)
    digest = hashlib.sha256(b"k7f3qz-12\n" + line).digest()
    assert writer == "".join("abcdefghjkmnpqrstvwxyz23456789"[digest[place] % 30] for place in range(8))
    assert not is_office(writer)
