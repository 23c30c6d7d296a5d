"""From entries to state. Merging is set union; state is a pure function of the set.

The entries of one group (a survey and a subject) fold to a `Finding`; the findings of one subject, survey after survey,
fold to its `Standing`. Both depend on nothing but the entries: not on their order, not on who brought them, not on a clock.

How a register fact folds
-------------------------
The *statements* of a slot are the entries of the group that state the fact, rulings among them. Of two statements, one
*sees* the other when `replaces` leads from it to the other, directly or through statements of the same slot. Should a
damaged tablet write a circle, nobody in it sees another: that way a slot that has statements always has a head.

- A statement that its own author withdrew counts for nothing; what it replaced stands again. Paths still lead through it.
- A statement is *answered* when a later word of its own author sees it, or a ruling does: the ruling speaks for it now.
- Two statements *disagree* when neither is answered, their values differ and neither sees the other.
- The slot is *open* while any two disagree. It then shows, of the values in dispute, the one that calls for most
  attention. Otherwise it shows the value of its *heads*, the statements that nobody sees.

Without a disagreement all heads have one value: two heads are unanswered and unseen, so they would disagree. It would be
wrong to compare heads only. Say A found a coral lost, B saw A's entry and wrote alive, and C, who knew of neither, wrote
alive too. Nothing replaces B or C and they agree; yet A and C contradict each other, and nobody who knew of both has spoken.

What differs from a plain reading of "no ruling sees both": when a late entry brings the value that the ruling gave, the
question stays closed, because the ruling speaks for the entries that it saw. Only another value opens it again.

A log fact (upkeep, notes, photos ...) keeps every statement that stands and that its author did not replace.
"""

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field
from typing import Any, NamedTuple

from shared_schema.entries import EntryWithdrawn, RulingGiven
from shared_schema.envelope import BaseEntry
from shared_schema.errors import IdentityClash
from shared_schema.facts import LOGS, attention, value_key
from shared_schema.ids import Heads

__all__ = ["Finding", "Record", "Slot", "Stand", "Standing", "fold_group", "restand", "stand"]


class Slot(NamedTuple):
    """What the entries of a group say of one fact.

    `value`: settled, or while `open` the value in dispute that calls for most attention; for a log the list of values.
    `heads`: ids of the statements that nobody replaced, for a log of those that count. `disputed`: ids of those that
    disagree. `ruled`: whether the value is a ruling's. All id tuples are in text order.
    """

    value: Any
    heads: tuple[str, ...]
    disputed: tuple[str, ...] = ()
    ruled: bool = False

    @property
    def open(self) -> bool:
        """Whether somebody has to look."""
        return bool(self.disputed)


class Finding(NamedTuple):
    """What one survey found of one subject.

    `missing` are ids that somebody replaced or withdrew and that never came; `idle` are withdrawals without effect: not
    by the author, or of nothing in this group.
    """

    survey: str
    subject: str
    slots: Mapping[str, Slot]
    missing: tuple[str, ...] = ()
    idle: tuple[str, ...] = ()

    @property
    def open(self) -> tuple[str, ...]:
        """The facts in dispute."""
        return tuple(name for name, slot in self.slots.items() if slot.disputed)

    def value(self, fact: str) -> Any:
        """The value of a fact, None where nobody stated it."""
        slot = self.slots.get(fact)
        return None if slot is None else slot.value


class Stand(NamedTuple):
    """A fact's present value: from the latest survey that speaks of it."""

    survey: str
    value: Any
    open: bool = False


class Standing(NamedTuple):
    """What is known of a subject now, register fact by register fact."""

    subject: str
    facts: Mapping[str, Stand]

    def value(self, fact: str) -> Any:
        """The present value of a fact, None where nobody stated it."""
        found = self.facts.get(fact)
        return None if found is None else found.value


def fold_group(entries: Iterable[BaseEntry]) -> Finding:
    """Fold the entries of one group. They must share survey and subject, and there must be at least one."""
    by_id = {entry.id: entry for entry in entries}
    several = [by_id[name] for name in sorted(by_id)] if len(by_id) > 1 else list(by_id.values())
    if len(several) == 1 and not isinstance(several[0], EntryWithdrawn):
        return _fold_one(several[0])
    survey, subject = several[0].group
    withdrawn, idle = _withdrawals(several, by_id)
    statements: dict[str, dict[str, Any]] = {}
    for entry in several:
        for name, value in entry.facts():
            statements.setdefault(name, {})[entry.id] = value
    slots = {}
    for name in sorted(statements):
        slot = _fold_slot(name, statements[name], by_id, withdrawn)
        if slot is not None:
            slots[name] = slot
    named = {name for entry in several for name in entry.replaces}
    named |= {entry.target for entry in several if isinstance(entry, EntryWithdrawn)}
    return Finding(survey, subject, slots, tuple(sorted(named - by_id.keys())), idle)


def _fold_one(entry: BaseEntry) -> Finding:
    """The same for an entry that is alone in its group, as nearly all are: nobody to disagree with."""
    slots = {name: _lone(name, value, entry) for name, value in entry.facts()}
    missing = tuple(sorted(set(entry.replaces) - {entry.id})) if entry.replaces else ()
    return Finding(entry.survey, entry.subject, slots, missing)


def _lone(name: str, value: Any, entry: BaseEntry) -> Slot:
    return Slot([value] if name in LOGS else value, (entry.id,), (), isinstance(entry, RulingGiven))


def _withdrawals(several: list[BaseEntry], by_id: Mapping[str, BaseEntry]) -> tuple[set[str], tuple[str, ...]]:
    """(ids withdrawn by their own authors, ids of withdrawals without effect)."""
    withdrawn: set[str] = set()
    idle: list[str] = []
    for entry in several:
        if isinstance(entry, EntryWithdrawn):
            target = by_id.get(entry.target)
            if target is not None and target.by == entry.by and not isinstance(target, EntryWithdrawn):
                withdrawn.add(target.id)
            else:
                idle.append(entry.id)
    return withdrawn, tuple(idle)


def _fold_slot(name: str, values: Mapping[str, Any], by_id: Mapping[str, BaseEntry], withdrawn: set[str]) -> Slot | None:
    standing = [one for one in values if one not in withdrawn]
    if len(standing) < 2:  # nobody to disagree with
        return _lone(name, values[standing[0]], by_id[standing[0]]) if standing else None
    sees = _sees({one: by_id[one].replaces for one in values})
    answered = {
        two for one in standing for two in sees[one] if isinstance(by_id[one], RulingGiven) or by_id[one].by == by_id[two].by
    }
    voices = [one for one in standing if one not in answered]
    if name in LOGS:
        return Slot([values[one] for one in voices], tuple(voices))
    seen = {two for one in standing for two in sees[one]}
    heads = tuple(one for one in standing if one not in seen)
    keys = {one: value_key(values[one]) for one in voices}
    disputed = tuple(
        one
        for one in voices
        if any(keys[one] != keys[other] and one not in sees[other] and other not in sees[one] for other in voices)
    )
    if disputed:
        return Slot(max((values[one] for one in disputed), key=lambda value: attention(name, value)), heads, disputed)
    return Slot(values[heads[0]], heads, ruled=any(isinstance(by_id[one], RulingGiven) for one in heads))


def _sees(replaces: Mapping[str, tuple[str, ...]]) -> dict[str, set[str]]:
    """For each statement those that it sees: reachable by `replaces` within the slot, and not reaching back."""
    reach: dict[str, set[str]] = {}
    for start in replaces:
        found: set[str] = set()
        ahead = [start]
        while ahead:
            for name in replaces[ahead.pop()]:
                if name in replaces and name not in found:
                    found.add(name)
                    ahead.append(name)
        reach[start] = found
    return {one: {other for other in seen if one not in reach[other]} for one, seen in reach.items()}


def stand(subject: str, findings: Iterable[Finding]) -> Standing:
    """The standing of a subject from all its findings, in any order."""
    facts: dict[str, Stand] = {}
    for finding in sorted(findings, key=lambda finding: finding.survey):
        for name, slot in finding.slots.items():
            if name not in LOGS:
                facts[name] = Stand(finding.survey, slot.value, slot.open)
    return Standing(subject, facts)


def restand(before: Standing, finding: Finding) -> Standing | None:
    """The standing after one finding changed, or None where only all findings together can tell.

    That is so when the finding no longer states a fact that the standing took from it: an earlier survey's value returns.
    """
    survey, slots = finding.survey, finding.slots
    facts = dict(before.facts)
    for name, held in before.facts.items():
        if held.survey == survey and name not in slots:
            return None
    for name, slot in slots.items():
        if name not in LOGS and (name not in facts or facts[name].survey <= survey):
            facts[name] = Stand(survey, slot.value, bool(slot.disputed))
    return Standing(before.subject, facts)


@dataclass
class Record:
    """A set of entries in memory, folded as it grows. Adding in any order, in pieces or again gives an equal record."""

    entries: dict[str, BaseEntry] = field(default_factory=dict)
    groups: dict[tuple[str, str], dict[str, BaseEntry]] = field(default_factory=dict)
    findings: dict[tuple[str, str], Finding] = field(default_factory=dict)
    standings: dict[str, Standing] = field(default_factory=dict)
    surveys: dict[str, set[str]] = field(default_factory=dict)

    def add(self, entries: Iterable[BaseEntry]) -> set[tuple[str, str]]:
        """Add entries and fold the groups that they touch; gives those groups.

        Raises IdentityClash where an id comes with another content; nothing is added then.
        """
        new: dict[str, BaseEntry] = {}
        for entry in entries:
            known = self.entries.get(entry.id) or new.setdefault(entry.id, entry)
            if known is not entry and known != entry:
                raise IdentityClash(entry.id)
        for name, entry in new.items():
            self.entries[name] = entry
            self.groups.setdefault(entry.group, {})[name] = entry
            self.surveys.setdefault(entry.subject, set()).add(entry.survey)
        touched = {entry.group for entry in new.values()}
        for group in touched:
            self.findings[group] = fold_group(self.groups[group].values())
        for group in touched:
            finding = self.findings[group]
            before = self.standings.get(finding.subject, Standing(finding.subject, {}))
            after = restand(before, finding)
            self.standings[finding.subject] = after or stand(finding.subject, self.of_subject(finding.subject))
        return touched

    def of_subject(self, subject: str) -> Iterator[Finding]:
        """The findings of a subject, first survey first."""
        for survey in sorted(self.surveys.get(subject, ())):
            yield self.findings[survey, subject]

    def heads(self) -> Heads:
        """writer -> highest number held."""
        heads: Heads = {}
        for entry in self.entries.values():
            writer, number = entry.entry_id
            heads[writer] = max(number, heads.get(writer, 0))
        return heads
