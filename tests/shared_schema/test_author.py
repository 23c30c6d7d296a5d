"""Writing entries one after the other."""

from datetime import UTC, datetime, timedelta
from typing import Any

import pytest
from pydantic import ValidationError

from shared_schema.author import Author
from shared_schema.entries import ConditionSeen, FragmentMoved, read_entry, write_entry

START = datetime(2026, 11, 14, 9, 30, tzinfo=UTC)


class Clock:
    """A clock that moves on a minute each time that it is read."""

    def __init__(self) -> None:
        self.now = START

    def __call__(self) -> datetime:
        """A minute later than before."""
        self.now += timedelta(minutes=1)
        return self.now


def author(**fields: Any) -> Author:
    """An author on tablet k7f3qz, who has written 7 entries before."""
    return Author("k7f3qz", 7, "anna", Clock(), **fields)


def test_entries_are_numbered_on_without_a_gap() -> None:
    """The next number is the last plus one, and what was written is kept in order."""
    pen = author()
    one = pen.write(ConditionSeen, "fragment:A", "2026-11", status="alive")
    two = pen.write(FragmentMoved, "fragment:A", place="ground")
    assert [one.id, two.id] == ["k7f3qz-8", "k7f3qz-9"]
    assert pen.written == [one, two]
    assert pen.last == 9


def test_an_entry_that_cannot_be_uses_up_no_number() -> None:
    """A refused value leaves no hole that would stop every later sync."""
    pen = author()
    with pytest.raises(ValidationError):
        pen.write(ConditionSeen, "fragment:A", "2026-11", live_tissue=101)
    assert pen.write(ConditionSeen, "fragment:A", "2026-11", live_tissue=100).id == "k7f3qz-8"
    assert len(pen.written) == 1


def test_who_when_and_who_typed_are_filled_in_and_can_be_said_otherwise() -> None:
    """The clock says when it was entered; the author may say when, and by whom, it was seen."""
    pen = author(typed_by="ben")
    plain = pen.write(ConditionSeen, "fragment:A", "2026-11", status="alive")
    assert (plain.by, plain.typed_by, plain.observed, plain.entered) == ("anna", "ben", *[START + timedelta(minutes=1)] * 2)
    told = pen.write(ConditionSeen, "fragment:A", "2026-11", status="dead", by="chai", observed=START, replaces=(plain.id,))
    assert (told.by, told.observed, told.entered) == ("chai", START, START + timedelta(minutes=2))
    assert told.replaces == ("k7f3qz-8",)
    assert read_entry(write_entry(told)) == told
