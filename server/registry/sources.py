"""From the bytes of a file to rows of text with their line numbers. What a cell means is not decided here."""

import unicodedata
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Final, NamedTuple

from server.registry.columns import ID, RECORD, SORTS, Column, Sort, plain_heading
from server.registry.problems import Problems

__all__ = ["RawCell", "RawRow", "Source", "clean", "decode", "find_column", "known_headings", "sort_named"]


@dataclass(frozen=True, slots=True)
class Source:
    """A file as it was given: its name for messages, and its bytes."""

    name: str
    content: bytes


class RawCell(NamedTuple):
    """What is written in a cell, in which line, under which heading as it is written there."""

    text: str
    line: int
    heading: str


class RawRow(NamedTuple):
    """A row that is not empty: what it describes, the name it gives, and its other cells that are not empty."""

    file: str
    line: int
    sort: Sort
    name: RawCell
    cells: Mapping[str, RawCell]


def clean(text: str) -> str:
    """A cell without blanks around it, its letters composed: an é is one é, whichever system wrote it."""
    return unicodedata.normalize("NFC", text).strip() if not text.isascii() else text.strip()


def decode(source: Source, problems: Problems) -> str | None:
    """The text of a file, or None and a problem that names the line where it is not UTF-8."""
    content = source.content
    if content.startswith((b"\xff\xfe", b"\xfe\xff")):
        problems.add(source.name, 1, "this is UTF-16: save it as CSV UTF-8")
    elif content.startswith(b"PK\x03\x04"):
        problems.add(source.name, 0, "this is a workbook: save each of its sheets as CSV UTF-8 and load those together")
    elif b"\0" in content:
        line = content.count(b"\n", 0, content.index(b"\0")) + 1
        problems.add(source.name, line, "there is a NUL byte, so this is no text: save it as CSV UTF-8")
    else:
        try:
            return content.decode("utf-8-sig")
        except UnicodeDecodeError as error:
            problems.add(source.name, *_not_utf8(content, error.start))
    return None


def _not_utf8(content: bytes, at: int) -> tuple[int, str]:
    line = content.count(b"\n", 0, at) + 1
    start, end = content.rfind(b"\n", 0, at) + 1, content.find(b"\n", at)
    words = content[max(start, at - 20) : at + 20 if end < 0 else min(end, at + 20)]
    guess = words.decode("cp1252", "replace").strip()
    return line, f"byte {content[at]:#04x} is not UTF-8 (in Windows-1252 it reads {guess!r}): save it as CSV UTF-8"


_ALSO: Final = {"place": "position", "aphiaid": "aphia_id"}


def find_column(sort: Sort, heading: str) -> Column | None:
    """The column of a sort under a plain heading."""
    return sort.columns.get(_ALSO.get(heading, heading))


def sort_named(word: str) -> Sort | None:
    """The sort that a word names, one or several."""
    plain = plain_heading(word)
    return SORTS.get(plain) or next((sort for sort in SORTS.values() if sort.several == plain), None)


def known_headings() -> tuple[str, ...]:
    """Every heading that any sort knows."""
    return (RECORD, ID, *SORTS, *dict.fromkeys(heading for sort in SORTS.values() for heading in sort.columns))
