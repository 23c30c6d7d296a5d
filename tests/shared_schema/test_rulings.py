"""Rulings, and notes on a question, on their lines: only an office rules, with a value that the fact can have."""

from typing import Any

import pytest

from shared_schema.entries import RulingGiven, read_entry
from tests.shared_schema.lines import RULED, SEEN, line, refusal


def test_a_ruling_by_a_tablet_is_not_allowed() -> None:
    """Only the office rules; the same words from the office are a ruling."""
    assert isinstance(read_entry(line(RULED)), RulingGiven)
    why = refusal(line(RULED, id="k7f3qz-1"))
    assert (why.reason, why.detail) == ("not_allowed", "k7f3qz-1 is a ruling from k7f3qz: only the office rules")


@pytest.mark.parametrize(
    ("changes", "words"),
    [
        ({"fact": "note", "value": "x"}, "fact 'note' cannot be ruled on: choose one of status"),
        ({"fact": "mood", "value": "x"}, "fact 'mood' cannot be ruled on"),
        ({"value": "asleep"}, "status = 'asleep': Input should be 'alive'"),
        ({"value": None}, "status = None: Input should be 'alive'"),
        ({"fact": "live_tissue", "value": 101}, "101"),
        ({"fact": "dive", "value": {"depth_cm": 12.5}, "subject": "visit:v1"}, "12.5 is a binary float"),
        ({"fact": "dive", "value": {"a": [{"b": float("nan")}]}, "subject": "visit:v1"}, "nan is a binary float"),
        ({"fact": "dive", "value": {"a": float("inf")}, "subject": "visit:v1"}, "inf is a binary float"),
        ({"fact": "design", "value": {"design": "castle"}, "subject": "structure:T07"}, "castle"),
        ({"fact": "design", "value": {}, "subject": "structure:T07"}, "design"),
    ],
)
def test_a_ruling_gives_a_value_that_its_fact_can_have(changes: dict[str, Any], words: str) -> None:
    """Nobody rules on a log, to a value out of range, to a float, or to a design that makes no structure."""
    why = refusal(line(RULED, **changes))
    assert why.reason == "damaged"
    assert words in why.detail


@pytest.mark.parametrize("fact", ["note", "mood", ""])
def test_a_note_speaks_of_a_fact_that_can_be_in_question(fact: str) -> None:
    """Nobody leaves a log open, nor what no program knows."""
    said = {"kind": "note_made", "text": "both photos are blurred"}
    note = {name: value for name, value in SEEN.items() if name != "status"} | said
    assert read_entry(line(note, fact="status")).facts() == [("note", {"text": "both photos are blurred", "fact": "status"})]
    why = refusal(line(note, fact=fact))
    assert (why.reason, "holds no single value" in why.detail) == ("damaged", True)


def test_a_ruling_on_a_design_counts_as_the_design_however_it_is_written() -> None:
    """The supervisor confirms a structure: trailing zeros make no other one."""
    plain = {"design": "line", "unit": "m", "length": "20", "spacing": "0.5"}
    fields = {"subject": "structure:L1", "fact": "design"}
    one = read_entry(line(RULED, **fields, value=plain))
    other = read_entry(line(RULED, **fields, value=plain | {"length": "20.00"}))
    assert list(one.facts()) == list(other.facts())


@pytest.mark.parametrize("value", [[], ["spots", "band"], ["band", "spots", "band"]])
def test_a_ruling_on_signs_counts_as_a_set(value: list[str]) -> None:
    """The order in which the supervisor ticked makes no difference."""
    entry = read_entry(line(RULED, fact="signs", value=value))
    assert list(entry.facts()) == [("signs", tuple(sorted(set(value))))]
