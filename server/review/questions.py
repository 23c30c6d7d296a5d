"""Questions: facts on which the record disagrees, each with all that was said of it."""

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass
from typing import Any, Final

from sqlalchemy import Connection, func, select
from sqlmodel import col

from server.review.kept import Kept, kept_facts, kept_of
from server.review.remembering import Shelf, remembered
from server.review.statements import Statement, statements_of
from server.review.structures import natural
from server.review.touched import Touched
from server.store.engine import reading
from server.store.folding import load_finding
from server.store.models import FindingRow, StandingRow
from server.store.record import RecordStore, StoredEntry
from shared_schema.errors import NothingSuch
from shared_schema.facts import FACTS, value_key
from shared_schema.fold import Finding, Slot
from shared_schema.ids import split_subject, structure_of_place

__all__ = [
    "Key",
    "Question",
    "count_questions",
    "list_questions",
    "read_open_questions",
    "read_question",
    "read_questions",
    "reading_order",
]

_KEYS: Final = Shelf("open questions")
_OPEN: Final = Shelf("open questions as read", most=8)


@dataclass(frozen=True, slots=True)
class Key:
    """Names a question: a fact of a subject in a survey. `place` is where it is, if that is known.

    `kept`: somebody looked at it, as it is, and left it open.
    """

    survey: str
    subject: str
    fact: str
    place: str | None = None
    kept: bool = False

    @property
    def structure(self) -> str | None:
        """The structure that it is on."""
        sort, name = split_subject(self.subject)
        return name if sort == "structure" else structure_of_place(self.place or "")


@dataclass(frozen=True, slots=True)
class Found:
    """What another survey found of the same fact. `open`: that survey too has a question about it."""

    survey: str
    value: Any
    open: bool


@dataclass(frozen=True, slots=True)
class Question:
    """A fact of a subject in a survey. `slot` is None where every statement was withdrawn.

    `earlier` and `later` are what the surveys next to it say; `kept` is that somebody left it open.
    """

    key: Key
    slot: Slot | None
    statements: tuple[Statement, ...]
    earlier: Found | None = None
    later: Found | None = None
    kept: Kept | None = None

    @property
    def open(self) -> bool:
        """Whether those who spoke still disagree."""
        return self.slot is not None and self.slot.open

    @property
    def disputed(self) -> tuple[Statement, ...]:
        """Those that disagree."""
        return tuple(one for one in self.statements if one.disputed)

    @property
    def settled(self) -> tuple[Statement, ...]:
        """All the others: answered, replaced, withdrawn, or in agreement."""
        return tuple(one for one in self.statements if not one.disputed)

    @property
    def ruling(self) -> Statement | None:
        """The ruling that holds, or that held until something else came."""
        return next((one for one in self.statements if one.is_ruling and one.head and not one.withdrawn), None)

    @property
    def shown(self) -> tuple[str, ...]:
        """The ids of all statements of this fact, for a ruling to see."""
        return tuple(one.entry.id for one in self.statements)

    def rulings_beyond(self, shown: Collection[str]) -> tuple[Statement, ...]:
        """Rulings that stand and that were not among the statements that somebody was shown."""
        return tuple(one for one in self.statements if one.is_ruling and not one.withdrawn and one.entry.id not in shown)

    @property
    def values(self) -> tuple[Any, ...]:
        """The values in dispute, each once."""
        return tuple({value_key(one.value): one.value for one in self.disputed}.values())


def count_questions(store: RecordStore, survey: str) -> int:
    """How many questions a survey has; survey "" counts those about standing facts."""
    with reading(store.engine) as connection:
        found = connection.execute(
            select(func.sum(col(FindingRow.open))).where(
                col(FindingRow.nursery) == store.nursery, col(FindingRow.survey) == survey, col(FindingRow.open) > 0
            )
        ).scalar_one()
    return int(found or 0)


def list_questions(store: RecordStore, survey: str, structure: str | None = None) -> list[Key]:
    """The open questions of a survey, or of one structure in it, in reading order; those that somebody kept open last."""
    with reading(store.engine) as connection:
        keys = _keys(connection, store.nursery, survey)
    return [key for key in keys if structure is None or key.structure == structure]


def _keys(connection: Connection, nursery: int, survey: str) -> Sequence[Key]:
    def make() -> list[Key]:
        return sorted(_read_keys(connection, nursery, survey), key=_place_in_list)

    def mend(held: list[Key], touched: Touched) -> list[Key]:
        still = [key for key in held if key.subject not in touched.subjects]
        return sorted([*still, *_read_keys(connection, nursery, survey, touched.subjects)], key=_place_in_list)

    return remembered(connection, nursery, _KEYS, survey, make, mend=mend)


def _read_keys(connection: Connection, nursery: int, survey: str, subjects: Collection[str] | None = None) -> list[Key]:
    """The open questions of a survey, or those about these subjects."""
    rows = connection.execute(
        select(col(FindingRow.subject), col(FindingRow.slots), col(FindingRow.place)).where(
            col(FindingRow.nursery) == nursery, col(FindingRow.survey) == survey, col(FindingRow.open) > 0
        )
    )
    found = [row for row in rows if subjects is None or row.subject in subjects]
    standing = _standing_places(connection, nursery, [subject for subject, _, where in found if where is None])
    findings = [load_finding(survey, subject, slots) for subject, slots, _ in found]
    kept = kept_facts(connection, nursery, findings)
    return [
        Key(survey, finding.subject, fact, where or standing.get(finding.subject), (finding.subject, fact) in kept)
        for finding, (_, _, where) in zip(findings, found, strict=True)
        for fact in finding.open
    ]


def _place_in_list(key: Key) -> tuple[Any, ...]:
    return key.kept, reading_order(key)


def reading_order(key: Key) -> tuple[Any, ...]:
    """Sorts questions by where they are, then by what they are about."""
    return natural(key.place or key.subject), key.subject, _ORDER.index(key.fact)


_ORDER: Final = tuple(FACTS)


def _standing_places(connection: Connection, nursery: int, subjects: Collection[str]) -> dict[str, str]:
    places = {subject: name for subject in subjects for sort, name in (split_subject(subject),) if sort in ("position", "page")}
    fragments = [subject for subject in subjects if subject not in places]
    for start in range(0, len(fragments), 500):
        rows = connection.execute(
            select(col(StandingRow.subject), col(StandingRow.place)).where(
                col(StandingRow.nursery) == nursery,
                col(StandingRow.subject).in_(fragments[start : start + 500]),
                col(StandingRow.place).is_not(None),
            )
        )
        places.update({subject: place for subject, place in rows if place is not None})
    return places


def read_question(store: RecordStore, survey: str, subject: str, fact: str) -> Question:
    """One question, open or settled. Raises NothingSuch where nobody ever stated that fact."""
    question = read_questions(store, [Key(survey, subject, fact)])[0]
    if not question.statements:
        raise NothingSuch(
            "nobody stated %(fact)s of %(subject)s in %(survey)s: there is nothing to settle",
            fact=fact,
            subject=subject,
            survey=survey or "standing facts",
        )
    return question


def read_open_questions(store: RecordStore, survey: str, structure: str | None = None) -> list[Question]:
    """The questions that list_questions names, with all that was said of each, without the visits before and after."""

    def read(held: Mapping[Key, Question], touched: Collection[str]) -> dict[Key, Question]:
        # Later than what `remembered` goes by, and never earlier.
        keys = list_questions(store, survey)
        anew = [key for key in keys if key not in held or key.subject in touched]
        fresh = dict(zip(anew, read_questions(store, anew, alone=True), strict=True))
        return {key: fresh.get(key) or held[key] for key in keys}

    def mend(held: dict[Key, Question], touched: Touched) -> dict[Key, Question]:
        return read(held, touched.subjects)

    with reading(store.engine) as connection:
        found = remembered(connection, store.nursery, _OPEN, survey, lambda: read({}, ()), mend=mend)
    return [question for key, question in found.items() if structure is None or key.structure == structure]


def read_questions(store: RecordStore, keys: Sequence[Key], *, alone: bool = False) -> list[Question]:
    """These questions, with all that was said of each, in the order given; `alone`: without the visits before and after."""
    around = {} if alone else _around(store, keys)
    missing = [key.subject for key in keys if key.place is None]
    with reading(store.engine) as connection:
        standing = _standing_places(connection, store.nursery, missing)
    by_survey: dict[str, set[str]] = {}
    for key in keys:
        by_survey.setdefault(key.survey, set()).add(key.subject)
    findings = {survey: store.findings(survey, subjects) for survey, subjects in by_survey.items()}
    stored = {survey: store.entries_of_several(survey, subjects) for survey, subjects in by_survey.items()}
    return [
        _read(
            key,
            findings[key.survey][key.subject],
            stored[key.survey][key.subject],
            standing.get(key.subject),
            around.get((key.subject, key.fact), _NOTHING),
        )
        for key in keys
    ]


def _read(
    key: Key,
    finding: Finding,
    stored: Sequence[StoredEntry],
    stands_at: str | None,
    around: tuple[Found | None, Found | None],
) -> Question:
    slot = finding.slots.get(key.fact)
    place = key.place or finding.value("place") or finding.value("seen_at") or stands_at
    kept = kept_of(key.fact, slot, stored)
    named = Key(key.survey, key.subject, key.fact, place, kept is not None and kept.holds)
    return Question(named, slot, statements_of(key.fact, slot, stored), *around, kept)


_NOTHING: Final = (None, None)


def _around(store: RecordStore, keys: Sequence[Key]) -> dict[tuple[str, str], tuple[Found | None, Found | None]]:
    """(subject, fact) -> what the last survey before said of it, and the first one after."""
    if not keys:
        return {}
    survey = keys[0].survey
    found: dict[tuple[str, str], tuple[Found | None, Found | None]] = {}
    with reading(store.engine) as connection:
        rows = connection.execute(
            select(col(FindingRow.survey), col(FindingRow.subject), col(FindingRow.slots))
            .where(
                col(FindingRow.nursery) == store.nursery,
                col(FindingRow.survey) != survey,
                col(FindingRow.subject).in_(sorted({key.subject for key in keys})),
            )
            .order_by(col(FindingRow.survey))
        ).all()
    for when, subject, slots in rows:
        for fact, slot in load_finding(when, subject, slots).slots.items():
            before, after = found.get((subject, fact), _NOTHING)
            one = Found(when, slot.value, slot.open)
            found[subject, fact] = (one, None) if when < survey else (before, after or one)
    return found
