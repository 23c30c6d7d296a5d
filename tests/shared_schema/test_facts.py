"""Facts: which values they take, and which of two values calls for more attention."""

from collections.abc import Sequence
from typing import Any, Final, get_args

import pytest
from hypothesis import given
from hypothesis import strategies as st
from pydantic import ValidationError

from shared_schema.entries import KINDS
from shared_schema.facts import FACTS, GONE, LIVING, LOGS, Overgrowth, Sign, Status, attention, value_key
from tests.laws.effort import FEWER
from tests.shared_schema.kinds import ENTRIES, values_of

REGISTERS: Final = sorted(FACTS.keys() - LOGS)


def ordered(fact: str, *values: Any) -> list[Any]:
    """Values of a fact, from little to much attention."""
    return sorted(values, key=lambda value: attention(fact, value))


@pytest.mark.parametrize("fact", REGISTERS)
@given(data=st.data())
@FEWER
def test_attention_ranks_any_two_values_of_a_fact(fact: str, data: st.DataObject) -> None:
    """Which value an open question shows never depends on chance: two rank alike only where they are equal."""
    one, other = data.draw(values_of(fact)), data.draw(values_of(fact))
    assert (attention(fact, one) == attention(fact, other)) == (value_key(one) == value_key(other)) == (one == other)


@pytest.mark.parametrize("fact", [name for name in REGISTERS if FACTS[name].ranks])
def test_ranks_name_only_values_that_the_fact_takes_and_none_twice(fact: str) -> None:
    """A misspelt rank would quietly rank nothing."""
    ranks = FACTS[fact].ranks
    assert len(set(ranks)) == len(ranks)
    assert set(ranks) <= set(get_args(FACTS[fact].kind_of_value))


@pytest.mark.parametrize(
    ("fact", "ranked"),
    [
        ("status", ["alive", "could_not_tell", "fading", "bleached", "preyed_on", "sick", "dead", "lost"]),
        ("bleaching", ["none", "pale", "partial", "full"]),
        ("breakage", ["none", "tips", "branches", "most"]),
        ("tie", ["tight", "loose", "missing"]),
        ("tag_state", ["readable", "unreadable", "missing"]),
        ("live_tissue", [100, 90, 9, 0]),
        ("length_mm", [100, 20, 3]),
        ("depth_cm", [90, 1000]),
        ("signs", [[], ["band"], ["tissue_loss"], ["band", "spots"]]),
        ("overgrowth", [[], ["algae"], ["algae", "fire_coral"]]),
    ],
)
def test_what_is_worse_calls_for_more_attention(fact: str, ranked: Sequence[Any]) -> None:
    """Until somebody rules, a question shows the worse: less tissue, a shorter coral, signs rather than none."""
    values = [FACTS[fact].check(value) for value in ranked]
    assert ordered(fact, *reversed(values)) == values


@pytest.mark.parametrize("seen", [one for one in get_args(FACTS["predator"].kind_of_value) if one != "not_seen"])
def test_a_predator_seen_calls_for_more_attention_than_none_seen(seen: str) -> None:
    """Whoever found the culprit is not outranked by who did not."""
    assert ordered("predator", seen, "not_seen") == ["not_seen", seen]


def test_every_status_is_ranked_and_told_apart_as_living_gone_dead_or_unknown() -> None:
    """No status falls through where the living are counted."""
    assert set(FACTS["status"].ranks) == set(get_args(Status)) == LIVING | GONE | {"dead", "could_not_tell"}
    assert not LIVING & GONE


@pytest.mark.parametrize(("fact", "choices"), [("signs", get_args(Sign)), ("overgrowth", get_args(Overgrowth))])
@given(data=st.data())
@FEWER
def test_signs_are_a_set_however_they_were_ticked(fact: str, choices: Sequence[str], data: st.DataObject) -> None:
    """Two who ticked the same boxes in another order, or one twice, do not disagree."""
    ticked = data.draw(st.lists(st.sampled_from(choices), max_size=4))
    again = data.draw(st.permutations([*ticked, *ticked[:1]]))
    assert FACTS[fact].check(again) == FACTS[fact].check(ticked)


def test_the_order_in_which_a_value_names_its_parts_makes_no_other_value() -> None:
    """Two programs that write the same dive with its fields in another order do not disagree."""
    one, other = {"place": "wall", "people": ["anna"]}, {"people": ["anna"], "place": "wall"}
    assert value_key(one) == value_key(other)
    assert attention("dive", one) == attention("dive", other)


def test_a_design_written_otherwise_is_the_same_design() -> None:
    """Trailing zeros and defaults left out are no disagreement about a structure."""
    plain = FACTS["design"].check({"design": "line", "unit": "m", "length": "20", "spacing": "0.5"})
    assert FACTS["design"].check({"design": "line", "unit": "m", "length": "20.0", "spacing": "0.50"}) == plain


@pytest.mark.parametrize(
    ("fact", "value"),
    [
        ("status", "asleep"),
        ("live_tissue", 101),
        ("live_tissue", -1),
        ("live_tissue", 50.0),
        ("live_tissue", True),
        ("length_mm", "12"),
        ("length_mm", 12.5),
        ("signs", ["itch"]),
        ("place", "somewhere"),
        ("seen_at", "ground"),
        ("genet", ""),
        ("genet", "a b"),
        ("tag", ""),
        ("tag", "x" * 201),
        ("tag", "00\x0000"),
        ("donor", "two\nlines"),
        ("role", "owner"),
        ("depth_cm", 3.5),
        ("aphia_id", 0),
        ("design", {"design": "castle"}),
        ("design", "line"),
        ("dive", {"depth_cm": 3.5}),
        ("dive", {"people": [{"hours": float("nan")}]}),
    ],
)
def test_values_that_a_fact_does_not_take_are_refused(fact: str, value: Any) -> None:
    """Out of range, of another type, a binary float wherever it hides, or what a database would choke on."""
    with pytest.raises(ValidationError):
        FACTS[fact].check(value)


@pytest.mark.parametrize("kind", sorted(KINDS))
def test_what_entries_state_are_facts_and_what_they_log_is_a_log(kind: str) -> None:
    """No kind states a fact that the fold does not know."""
    assert set(KINDS[kind].STATES) <= set(REGISTERS)
    assert KINDS[kind].LOGS is None or KINDS[kind].LOGS in LOGS


@given(data=st.data())
def test_a_value_that_an_entry_states_is_one_that_its_fact_takes(data: st.DataObject) -> None:
    """What a diver enters and what a supervisor may rule are of one type, and a check changes nothing in it."""
    entry = data.draw(st.one_of(*ENTRIES.values()))
    for fact, value in entry.facts():
        assert FACTS[fact].check(value) == value


@given(value=st.text(max_size=5))
@FEWER
def test_a_fact_that_a_newer_program_knows_is_ranked_too(value: str) -> None:
    """An unknown fact must not break a page that sorts by attention."""
    assert attention("of_tomorrow", value) == (0, value)
