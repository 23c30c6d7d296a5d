"""What people say in these tests: one short call an entry, all about one fragment in one survey unless told otherwise."""

from collections.abc import Iterable
from datetime import UTC, datetime
from typing import Any, Final, TypeAlias

from shared_schema.entries import ConditionSeen, EntryWithdrawn, NoteMade, RulingGiven
from shared_schema.envelope import BaseEntry
from shared_schema.fold import Finding, Slot, fold_group

__all__ = ["GROUP", "Group", "fold", "noted", "ruled", "said", "status_of", "took_back"]

Group: TypeAlias = tuple[str, str]

GROUP: Final[Group] = ("2026-11", "fragment:PA-0001")
WHEN: Final = datetime(2026, 11, 14, 9, 30, tzinfo=UTC)


def _envelope(entry_id: str, by: str, replaces: Iterable[str], group: Group) -> dict[str, Any]:
    survey, subject = group
    when = {"observed": WHEN, "entered": WHEN}
    return {"id": entry_id, "by": by, "replaces": tuple(replaces), "survey": survey, "subject": subject, **when}


def said(entry_id: str, by: str, replaces: Iterable[str] = (), group: Group = GROUP, **facts: Any) -> ConditionSeen:
    """A diver saw something; without facts, that the fragment is alive."""
    return ConditionSeen(**_envelope(entry_id, by, replaces, group), **(facts or {"status": "alive"}))


def ruled(
    entry_id: str, by: str, value: Any, replaces: Iterable[str] = (), group: Group = GROUP, fact: str = "status"
) -> RulingGiven:
    """A supervisor ruled."""
    return RulingGiven(**_envelope(entry_id, by, replaces, group), fact=fact, value=value)


def took_back(entry_id: str, by: str, target: str, group: Group = GROUP) -> EntryWithdrawn:
    """Somebody takes an entry back."""
    return EntryWithdrawn(**_envelope(entry_id, by, (), group), target=target)


def noted(entry_id: str, by: str, replaces: Iterable[str] = (), group: Group = GROUP, text: str = "x") -> NoteMade:
    """Somebody made a note."""
    return NoteMade(**_envelope(entry_id, by, replaces, group), text=text)


def fold(*entries: BaseEntry) -> Finding:
    """What these entries of one group come to."""
    return fold_group(entries)


def status_of(*entries: BaseEntry) -> Slot:
    """What these entries say of the status."""
    return fold_group(entries).slots["status"]
