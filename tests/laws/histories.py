"""Sets of entries to try the laws on: tangles, that anything could have written, and seasons, that crews would write.

Tangles are nasty on purpose: entries replace later ones, each other, themselves and ones that never came; people withdraw
what is not theirs, what is not there, and withdrawals. Seasons come from crews who see what their tablet holds and now and
then exchange with the office.

Both are drawn as plans, plain tuples, and then written down: building strategies from what was drawn is many times slower.
"""

from collections import Counter
from collections.abc import Iterable, Sequence
from typing import Any, Final, NamedTuple

from hypothesis import strategies as st

from shared_schema.entries import ConditionSeen, RulingGiven
from shared_schema.envelope import BaseEntry
from shared_schema.fold import Record
from tests.laws.voices import GROUP, Group, noted, ruled, said, took_back

__all__ = [
    "GROUPS",
    "LATECOMERS",
    "PEOPLE",
    "RANKS",
    "facts_told",
    "one_group",
    "one_slot",
    "only_notes",
    "seasons",
    "several_groups",
    "shuffled",
]

TABLETS: Final = ("k7f3qz", "m2w8rd")
OFFICES: Final = ("office2ab4", "office9xy3")
DIVERS: Final = ("anna", "ben", "chai")
SUPERVISORS: Final = ("vera", "wim")
PEOPLE: Final = (*DIVERS, *SUPERVISORS)
STRANGERS: Final = ("t9hb4c-1", "k7f3qz-99")
"""Ids that entries replace and that never come."""
LATECOMERS: Final = ("zz2late-1", "zz3late-1", "officezzzz-1", "officezzzz-2")
"""Ids that no history uses: for what a test adds. The last two are the office's."""

GROUPS: Final[tuple[Group, ...]] = (
    GROUP,
    ("2026-12", GROUP[1]),
    ("", GROUP[1]),
    ("2026-11", "fragment:PA-0002"),
)

RANKS: Final[dict[str, tuple[Any, ...]]] = {
    "status": ("alive", "fading", "sick", "dead"),
    "live_tissue": (100, 50, 0),
}
"""What is said of a fact here, from little to much attention; written down apart from facts.py on purpose."""

_values: Final = {name: st.sampled_from(values) for name, values in RANKS.items()}
facts_told: Final = st.one_of(
    st.fixed_dictionaries({"status": _values["status"]}),
    st.fixed_dictionaries(_values),
    st.fixed_dictionaries({"live_tissue": _values["live_tissue"]}),
)
"""What one look may state: one fact, or two at once."""
_one_fact: Final = st.one_of(*(st.tuples(st.just(name), values) for name, values in _values.items()))


class _Plan(NamedTuple):
    """One entry to be written: numbers pick from what there is to pick from, round and round."""

    kind: str
    writer: int
    by: int
    group: int
    tells: Any
    names: list[int]


def _planned(kind: str, tells: st.SearchStrategy[Any], most_names: int = 3) -> st.SearchStrategy[_Plan]:
    number = st.integers(0, 59)
    names = st.lists(number, min_size=int(kind == "took_back"), max_size=most_names)
    return st.builds(_Plan, st.just(kind), number, number, number, tells, names)


_said: Final = _planned("said", facts_told)
_ruled: Final = _planned("ruled", _one_fact)
_took_back: Final = _planned("took_back", st.sampled_from((True, True, False)), 1)
_noted: Final = _planned("noted", st.none())
_status_said: Final = _planned("said", st.fixed_dictionaries({"status": _values["status"]}))
_status_ruled: Final = _planned("ruled", st.tuples(st.just("status"), _values["status"]))
_any_plan: Final = st.one_of(_said, _said, _said, _ruled, _took_back, _noted)


def _tangled(plans: Sequence[_Plan], groups: Sequence[Group]) -> tuple[BaseEntry, ...]:
    """What these plans come to when each may name any of the others."""
    numbers: Counter[str] = Counter()
    ids = []
    for plan in plans:
        writer = _pick(OFFICES if plan.kind == "ruled" else (*TABLETS, *OFFICES), plan.writer)
        numbers[writer] += 1
        ids.append(f"{writer}-{numbers[writer]}")
    authors = {one: _pick(PEOPLE, plan.by) for one, plan in zip(ids, plans, strict=True)}
    pool = (*ids, *STRANGERS)
    entries: list[BaseEntry] = []
    for one, plan in zip(ids, plans, strict=True):
        group, by, replaces = _pick(groups, plan.group), authors[one], [_pick(pool, name) for name in plan.names]
        if plan.kind == "took_back":
            by = authors.get(replaces[0], by) if plan.tells else by
            entries.append(took_back(one, by, replaces[0], group))
        elif plan.kind == "noted":
            entries.append(noted(one, by, replaces, group))
        elif plan.kind == "ruled":
            fact, value = plan.tells
            entries.append(ruled(one, by, value, replaces, group, fact))
        else:
            entries.append(said(one, by, replaces, group, **plan.tells))
    return tuple(entries)


def _pick(several: Sequence[Any], number: int) -> Any:
    return several[number % len(several)]


def _several(plans: st.SearchStrategy[_Plan], most: int) -> st.SearchStrategy[list[_Plan]]:
    """One or two plans, or twice as often enough to entangle."""
    few, many = st.lists(plans, min_size=1, max_size=2), st.lists(plans, min_size=4, max_size=most)
    return st.one_of(few, many, many)


def one_group(most: int = 7) -> st.SearchStrategy[tuple[BaseEntry, ...]]:
    """A tangle of entries that all belong to voices.GROUP."""
    return _several(_any_plan, most).map(lambda plans: _tangled(plans, (GROUP,)))


def one_slot(most: int = 7) -> st.SearchStrategy[tuple[BaseEntry, ...]]:
    """A denser tangle: all about the status in voices.GROUP."""
    plans = st.one_of(_status_said, _status_said, _status_ruled, _status_said, _took_back)
    return _several(plans, most).map(lambda several: _tangled(several, (GROUP,)))


def only_notes(most: int = 6) -> st.SearchStrategy[tuple[BaseEntry, ...]]:
    """A tangle of notes and withdrawals that all belong to voices.GROUP."""
    return _several(st.one_of(_noted, _noted, _took_back), most).map(lambda plans: _tangled(plans, (GROUP,)))


def several_groups(most: int = 10) -> st.SearchStrategy[tuple[BaseEntry, ...]]:
    """A tangle of entries over several surveys and subjects; some replace or withdraw across groups."""
    return _several(_any_plan, most).map(lambda plans: _tangled(plans, GROUPS))


def shuffled(entries: Sequence[BaseEntry]) -> st.SearchStrategy[list[BaseEntry]]:
    """The entries in any order, some of them more than once."""
    again = st.lists(st.sampled_from(entries), max_size=3)
    return again.flatmap(lambda more: st.permutations([*entries, *more]))


class _Crew:
    """Somebody with a tablet, or the office with all that has come in."""

    def __init__(self, writer: str, people: Sequence[str]) -> None:
        self.writer, self.people, self.written = writer, people, 0
        self.holds = Record()

    def write(self, plan: _Plan) -> BaseEntry | None:
        """Write what is planned, having in front what this crew holds."""
        one, by, group = f"{self.writer}-{self.written + 1}", _pick(self.people, plan.by), _pick(GROUPS, plan.group)
        entry: BaseEntry
        if plan.kind == "took_back":
            mine = [held for held in self.holds.entries.values() if isinstance(held, ConditionSeen | RulingGiven)]
            if not mine:
                return None
            target = _pick(mine, plan.names[0])
            entry = took_back(one, target.by, target.id, target.group)
        elif plan.kind == "ruled":
            fact, value = plan.tells
            entry = ruled(one, by, value, self.in_front(group, [fact]), group, fact)
        else:
            entry = said(one, by, self.in_front(group, plan.tells), group, **plan.tells)
        self.written += 1
        self.holds.add([entry])
        return entry

    def in_front(self, group: Group, facts: Iterable[str]) -> tuple[str, ...]:
        """What this crew sees of these facts."""
        finding = self.holds.findings.get(group)
        heads = {one for fact in facts if finding and fact in finding.slots for one in finding.slots[fact].heads}
        return tuple(sorted(heads))

    def exchange(self, office: Record) -> None:
        """Give the office what it lacks, and take what it has."""
        office.add(self.holds.entries.values())
        self.holds.add(office.entries.values())


def _season(acts: Sequence[_Plan | int]) -> tuple[BaseEntry, ...]:
    office = _Crew(OFFICES[0], SUPERVISORS)
    crews = [*(_Crew(tablet, DIVERS) for tablet in TABLETS), office]
    written: list[BaseEntry] = []
    for act in acts:
        if isinstance(act, int):
            _pick(crews, act).exchange(office.holds)
            continue
        entry = (office if act.kind == "ruled" else _pick(crews, act.writer)).write(act)
        if entry is not None:
            written.append(entry)
    return tuple(written)


def seasons(most: int = 12) -> st.SearchStrategy[tuple[BaseEntry, ...]]:
    """What crews write in the order in which they write it, each having seen what it had exchanged by then."""
    acts = st.one_of(_said, st.integers(0, 1), _said, _ruled, _took_back)
    return st.lists(acts, min_size=1, max_size=most).map(_season).filter(bool)
