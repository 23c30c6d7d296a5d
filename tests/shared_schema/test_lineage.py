"""Who descends from whom, in lines that are whole, broken, in circles, and very long."""

from typing import Final

from hypothesis import given
from hypothesis import strategies as st

from shared_schema.lineage import Descent, descent_of, generations, offspring

NAMES: Final = [f"PA-{number:04}" for number in range(8)]
GHOST: Final = "PA-9999"
LENGTH: Final = 10_000

records: Final = st.dictionaries(st.sampled_from(NAMES), st.none() | st.sampled_from([*NAMES, GHOST]))
"""Any record of parents: founders, cuttings, cuttings of what is not there, circles."""


def long_line() -> dict[str, str | None]:
    """10,000 fragments, each cut from the one before."""
    return {f"F{number}": f"F{number - 1}" if number else None for number in range(LENGTH)}


def test_a_founder_is_generation_0_and_its_cuttings_are_1() -> None:
    """As nurseries count: F0 from the reef, F1 its cuttings, F2 theirs."""
    parents = {"founder": None, "cutting": "founder", "second": "cutting"}
    assert generations(parents) == {"founder": 0, "cutting": 1, "second": 2}
    assert descent_of("second", parents) == Descent("second", ("cutting", "founder"), whole=True)
    assert descent_of("second", parents).founder == "founder"
    assert descent_of("founder", parents).founder == "founder"


def test_a_line_that_ends_in_an_unknown_parent_counts_from_the_last_one_known() -> None:
    """A parent that is not in the record breaks the line, and the descent says so."""
    parents = {"second": "first", "first": GHOST}
    assert descent_of("second", parents) == Descent("second", ("first",), whole=False)
    assert generations(parents) == {"second": 1, "first": 0}


def test_a_fragment_that_is_not_in_the_record_has_no_descent() -> None:
    """Nothing is known, and nothing is made up."""
    assert descent_of(GHOST, {}) == Descent(GHOST, (), whole=False)


def test_a_circle_ends_where_it_would_repeat() -> None:
    """Records that make a fragment its own ancestor are counted through once, and not followed for ever."""
    parents = {"a": "b", "b": "c", "c": "a", "hanger-on": "a"}
    assert descent_of("a", parents) == Descent("a", ("b", "c"), whole=False)
    assert generations(parents) == {"a": 2, "b": 2, "c": 2, "hanger-on": 3}
    assert descent_of("self", {"self": "self"}) == Descent("self", (), whole=False)
    assert generations({"self": "self"}) == {"self": 0}


@given(parents=records)
def test_generations_are_those_of_each_descent(parents: dict[str, str | None]) -> None:
    """The quick way for all and the plain way for one agree on every record, however muddled."""
    assert generations(parents) == {name: descent_of(name, parents).generation for name in parents}


@given(parents=records, data=st.data())
def test_the_order_of_the_record_changes_no_generation(parents: dict[str, str | None], data: st.DataObject) -> None:
    """Generations depend on who is whose parent, and on nothing else; not in circles either."""
    again = dict(data.draw(st.permutations(list(parents.items()))))
    assert generations(again) == generations(parents)
    assert offspring(again) == offspring(parents)


@given(parents=records)
def test_a_whole_descent_leads_parent_by_parent_to_a_founder(parents: dict[str, str | None]) -> None:
    """Each ancestor is the parent of the one before; only a whole line ends in somebody without a parent."""
    for name in parents:
        descent = descent_of(name, parents)
        line = [name, *descent.ancestors]
        assert [parents[one] for one in line[:-1]] == line[1:]
        assert len(set(line)) == len(line)
        assert descent.whole == (parents[line[-1]] is None)


@given(parents=records)
def test_offspring_are_all_who_name_the_parent_in_order(parents: dict[str, str | None]) -> None:
    """Every cutting appears once, under its parent, sorted by name; parents outside the record too."""
    children = offspring(parents)
    for parent in [*NAMES, GHOST]:
        assert children.get(parent, ()) == tuple(sorted(name for name in parents if parents[name] == parent))
    assert sum(map(len, children.values())) == sum(parent is not None for parent in parents.values())


def test_ten_thousand_generations_are_counted_without_running_out_of_stack() -> None:
    """No length of a line is too long."""
    parents = long_line()
    last = f"F{LENGTH - 1}"
    assert descent_of(last, parents).generation == LENGTH - 1
    assert descent_of(last, parents).founder == "F0"
    assert generations(parents)[last] == LENGTH - 1
    assert generations(dict(reversed(parents.items())))[last] == LENGTH - 1


def test_a_circle_of_ten_thousand_is_counted_too() -> None:
    """Nor is any circle too wide."""
    parents = long_line() | {"F0": f"F{LENGTH - 1}"}
    assert set(generations(parents).values()) == {LENGTH - 1}
    assert not descent_of("F5", parents).whole
