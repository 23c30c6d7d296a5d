"""What two tablets brought, as figures and questions, read from the server's record."""

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass

from server.review.discrepancies import list_discrepancies
from server.review.questions import list_questions, read_questions
from server.store.record import RecordStore
from server.store.tablets import list_tablets
from shared_schema.discrepancies import Discrepancy
from shared_schema.entries import ConditionSeen, Entry, PageNotReached, PageSignedOff, read_entry
from shared_schema.ids import split_subject

__all__ = ["Brought", "Dispute", "Outcome", "Voice", "read_outcome"]


@dataclass(frozen=True, slots=True)
class Brought:
    """What one tablet brought: how many entries, by whom, the pages signed off and those not reached."""

    tablet: str
    entries: int
    people: tuple[str, ...]
    signed: tuple[str, ...]
    not_reached: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Voice:
    """Who says what, on which tablet."""

    person: str
    tablet: str
    value: str


@dataclass(frozen=True, slots=True)
class Dispute:
    """A fact of a fragment on which voices differ."""

    place: str
    fragment: str
    genet: str
    fact: str
    voices: tuple[Voice, ...]


@dataclass(frozen=True, slots=True)
class Outcome:
    """All that there is to tell.

    `seen` fragments in all, `both` by both tablets, of which `alike` with equal status. `apart` are those of which one
    tablet stated one fact and the other another, so that both stand. `older` questions are of earlier surveys.
    """

    brought: tuple[Brought, ...]
    seen: int
    both: int
    alike: int
    apart: tuple[str, ...]
    disputes: tuple[Dispute, ...]
    older: int
    discrepancies: tuple[Discrepancy, ...]


def read_outcome(store: RecordStore, survey: str, tablets: Sequence[str], surveys: Sequence[str]) -> Outcome:
    """What these tablets (by name) brought to a survey; `surveys` are the others, whose open questions are counted."""
    writers = {one.writer: one.name for one in list_tablets(store) if one.name in tablets}
    entries: dict[str, list[Entry]] = {name: [] for name in tablets}
    lines, _ = store.lines_after({writer: head for writer, head in store.heads().items() if writer not in writers}, 100_000)
    for entry in map(read_entry, lines):
        entries[writers[entry.writer]].append(entry)
    said = {name: _facts_of(several) for name, several in entries.items()}
    first, second = (said[name] for name in tablets)
    both = sorted(first.keys() & second.keys())
    return Outcome(
        brought=tuple(_brought(name, several) for name, several in entries.items()),
        seen=len(first.keys() | second.keys()),
        both=len(both),
        alike=sum(_alike(first[one], second[one]) for one in both),
        apart=tuple(one for one in both if not first[one].keys() & second[one].keys()),
        disputes=tuple(_disputes(store, survey, writers)),
        older=sum(len(list_questions(store, other)) for other in surveys),
        discrepancies=tuple(list_discrepancies(store)),
    )


def _facts_of(entries: Sequence[Entry]) -> dict[str, dict[str, object]]:
    """fragment -> what this tablet says of its condition, the last word on each fact."""
    found: defaultdict[str, dict[str, object]] = defaultdict(dict)
    for entry in entries:
        if isinstance(entry, ConditionSeen):
            found[split_subject(entry.subject)[1]].update((fact, value) for fact, value in entry.facts() if fact != "seen_at")
    return dict(found)


def _alike(one: dict[str, object], other: dict[str, object]) -> bool:
    return "status" in one and one["status"] == other.get("status")


def _brought(name: str, entries: Sequence[Entry]) -> Brought:
    def pages(kind: type[Entry]) -> tuple[str, ...]:
        return tuple(split_subject(entry.subject)[1] for entry in entries if isinstance(entry, kind))

    people = tuple(dict.fromkeys(entry.by for entry in entries))
    return Brought(name, len(entries), people, pages(PageSignedOff), pages(PageNotReached))


def _disputes(store: RecordStore, survey: str, writers: dict[str, str]) -> list[Dispute]:
    found: list[Dispute] = []
    for question in read_questions(store, list_questions(store, survey)):
        voices = sorted(
            (Voice(one.entry.by, writers.get(one.entry.writer, one.entry.writer), str(one.value)) for one in question.disputed),
            key=lambda voice: (voice.tablet, voice.person),
        )
        genet = str(store.standing(question.key.subject).value("genet") or "?")
        name = split_subject(question.key.subject)[1]
        found.append(Dispute(question.key.place or "", name, genet, question.key.fact, tuple(voices)))
    return found
