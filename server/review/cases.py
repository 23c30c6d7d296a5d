"""Cases: a discrepancy with all that bears on it, at an address that lasts: what was said, what surveys found, what was done.

A case outlives its discrepancy. Once the record is put right it says so, with the corrections that did it.
"""

from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Final

from sqlalchemy import select
from sqlmodel import col

from server.review.corrections import Correction, corrections_among
from server.review.discrepancies import discrepancies_of
from server.review.entries import entries_about
from server.review.statements import Statement, statements_of
from server.store.bulk import in_chunks
from server.store.engine import reading
from server.store.folding import load_finding
from server.store.models import FindingRow
from server.store.record import RecordStore
from shared_schema.discrepancies import SORTS, Discrepancy, Sort
from shared_schema.errors import NothingSuch
from shared_schema.facts import LIVING, value_key
from shared_schema.fold import Finding, Slot, Standing, fold_group, stand
from shared_schema.ids import split_subject
from shared_schema.sayings import Saying

__all__ = ["Case", "Evidence", "left_as_they_are", "read_case"]

_SPEAKS: Final[Mapping[Sort, tuple[str, ...]]] = {
    "two_in_one_place": ("place", "seen_at", "status"),
    "one_in_two_places": ("place", "seen_at"),
    "dead_then_alive": ("status",),
    "unknown_genet": ("genet",),
    "unknown_parent": ("parent",),
    "own_ancestor": ("parent",),
    "unknown_position": ("place", "seen_at"),
    "never_planted": ("seen_at", "status"),
    "tag_twice": ("tag", "place", "status"),
}
"""The facts that a sort rests on; the first is the one that does not add up."""


@dataclass(frozen=True, slots=True)
class Evidence:
    """A slot that a discrepancy rests on. `key`: it is what does not add up, and not only what helps to judge."""

    subject: str
    survey: str
    fact: str
    slot: Slot
    statements: tuple[Statement, ...]
    key: bool

    @property
    def confirmed(self) -> Statement | None:
        """The ruling that says the value is right as it is, where that was the last word."""
        if self.slot.open:
            return None
        for one in self.statements:
            if one.is_ruling and one.head and not one.withdrawn:
                before = [each.entry for each in self.statements if not each.withdrawn and each is not one]
                stood = fold_group(before).slots[self.fact] if before else None
                if stood is not None and not stood.open and value_key(stood.value) == value_key(one.value):
                    return one
        return None


@dataclass(frozen=True, slots=True)
class Case:
    """A discrepancy and what bears on it.

    `stands`: it is one now. `findings` are first survey first, by subject; `others` are further discrepancies of the same
    subjects; `done` the corrections that touched them, newest first.
    """

    discrepancy: Discrepancy
    stands: bool
    findings: Mapping[str, tuple[Finding, ...]]
    evidence: tuple[Evidence, ...]
    others: tuple[Discrepancy, ...]
    done: tuple[Correction, ...]

    @property
    def names(self) -> tuple[str, ...]:
        """The fragments that it is about."""
        return tuple(split_subject(one)[1] for one in self.discrepancy.subjects)

    @property
    def rests_on(self) -> tuple[str, ...]:
        """The ids of all statements that were weighed."""
        return tuple(sorted({one.entry.id for each in self.evidence for one in each.statements}))

    @property
    def over(self) -> bool:
        """Whether it adds up: it is no discrepancy any more, and did not turn into another one of its sort."""
        return not self.stands and all(one.sort != self.discrepancy.sort for one in self.others)

    @property
    def weighed(self) -> frozenset[tuple[str, str]]:
        """(survey, subject) of the findings that it rests on."""
        return frozenset((one.survey, one.subject) for one in self.evidence)

    @property
    def in_time(self) -> tuple[tuple[Finding, ...], tuple[Finding, ...]]:
        """The findings that matter, then all others, each first survey first.

        Those matter that it rests on, the ones just before and after each of these, and whichever hung it somewhere.
        """
        near: set[tuple[str, str]] = set()
        for several in self.findings.values():
            for at, one in enumerate(several):
                if one[:2] in self.weighed or one.value("place") is not None:
                    near |= {other[:2] for other in several[max(0, at - 1) : at + 2]}
        every = sorted((one for several in self.findings.values() for one in several if one.slots), key=lambda one: one[:2])
        return tuple(one for one in every if one[:2] in near), tuple(one for one in every if one[:2] not in near)

    @property
    def left(self) -> Statement | None:
        """The ruling that it is right as it stands, and why; None where nobody said that of all that does not add up."""
        return _left(self.evidence) if self.stands else None

    def standing(self, subject: str) -> Standing:
        """What is known of one of its subjects now."""
        return stand(subject, self.findings[subject])


def _left(evidence: Iterable[Evidence]) -> Statement | None:
    words = [one.confirmed for one in evidence if one.key]
    batches = {getattr(one.entry, "batch", None) if one is not None else None for one in words}
    return words[0] if words and len(batches) == 1 and None not in batches else None


def read_case(store: RecordStore, sort: str, survey: str, names: Sequence[str]) -> Case:
    """The case at an address. Raises NothingSuch for a sort or a fragment that the record does not know."""
    known = next((one for one in SORTS if one == sort), None)
    if known is None or not names:
        raise NothingSuch(
            "there is no discrepancy of the sort %(sort)s: the sorts are %(sorts)s", sort=sort[:40], sorts=", ".join(SORTS)
        )
    subjects = tuple(f"fragment:{name}" for name in sorted(set(names)))
    present = sorted({one for name in names for one in discrepancies_of(store, name)})
    wanted = [one for one in present if (one.sort, one.survey, one.subjects) == (known, survey, subjects)]
    case = wanted[0] if wanted else Discrepancy(known, subjects, Saying(""), survey)
    findings = _all_findings(store, case, _findings(store, subjects))
    for subject in subjects:
        if not findings.get(subject):
            name = split_subject(subject)[1]
            raise NothingSuch("there is no fragment %(name)s in the record: look at its tag again", name=name[:80])
    with reading(store.engine) as connection:
        entries = [one for subject in findings for one in entries_about(connection, store.nursery, subject)]
    return Case(
        discrepancy=case,
        stands=bool(wanted),
        findings=findings,
        evidence=tuple(_evidence(store, case, findings)),
        others=tuple(one for one in present if one != case),
        done=tuple(corrections_among(store, entries)),
    )


def left_as_they_are(store: RecordStore, discrepancies: Sequence[Discrepancy]) -> list[Statement | None]:
    """For each the ruling that it is right as it stands, where there is one."""
    findings = _findings(store, {subject for one in discrepancies for subject in one.subjects})
    return [_left_as_it_is(store, one, _all_findings(store, one, findings)) for one in discrepancies]


def _left_as_it_is(store: RecordStore, discrepancy: Discrepancy, findings: Mapping[str, tuple[Finding, ...]]) -> Statement | None:
    keys = [one for one in _slots(discrepancy, findings) if one[3]]
    if not all(_slot_of(findings, *one[:3]).ruled for one in keys):
        return None  # nearly always: then no entry need be read
    return _left(_evidence(store, discrepancy, findings))


def _slot_of(findings: Mapping[str, tuple[Finding, ...]], subject: str, survey: str, fact: str) -> Slot:
    """A slot that is known to be there."""
    return next(one.slots[fact] for one in findings[subject] if one.survey == survey)


def _all_findings(
    store: RecordStore, case: Discrepancy, known: Mapping[str, tuple[Finding, ...]]
) -> dict[str, tuple[Finding, ...]]:
    """All findings of whoever it is about, first survey first; those of `known` are not read again."""
    found = {subject: known[subject] for subject in case.subjects}
    ahead = list(case.subjects)
    while ahead and case.sort == "own_ancestor":
        # Of a circle of ancestors each may be the one that is entered wrongly.
        subject = ahead.pop()
        parent = stand(subject, found[subject]).value("parent")
        if parent is not None and (above := f"fragment:{parent}") not in found:
            found[above] = known.get(above) or _findings(store, [above])[above]
            ahead.append(above)
    return found


def _findings(store: RecordStore, subjects: Collection[str]) -> dict[str, tuple[Finding, ...]]:
    """subject -> all its findings, first survey first."""
    found: dict[str, list[Finding]] = {subject: [] for subject in subjects}
    with reading(store.engine) as connection:
        for some in in_chunks(sorted(found)):
            rows = connection.execute(
                select(col(FindingRow.survey), col(FindingRow.subject), col(FindingRow.slots)).where(
                    col(FindingRow.nursery) == store.nursery, col(FindingRow.subject).in_(some)
                )
            )
            for survey, subject, slots in rows:
                found[subject].append(load_finding(survey, subject, slots))
    return {subject: tuple(sorted(several, key=lambda one: one.survey)) for subject, several in found.items()}


def _evidence(store: RecordStore, case: Discrepancy, findings: Mapping[str, tuple[Finding, ...]]) -> Iterator[Evidence]:
    for subject, survey, fact, key in _slots(case, findings):
        slot = _slot_of(findings, subject, survey, fact)
        yield Evidence(subject, survey, fact, slot, statements_of(fact, slot, store.entries_of(survey, subject)), key)


def _slots(case: Discrepancy, findings: Mapping[str, tuple[Finding, ...]]) -> Iterator[tuple[str, str, str, bool]]:
    """(subject, survey, fact, whether it is what does not add up)."""
    if case.sort == "dead_then_alive":
        yield from (
            (case.subjects[0], survey, "status", True) for survey in _died_and_rose(findings[case.subjects[0]], case.survey)
        )
        return
    for subject, several in findings.items():
        facts = stand(subject, several).facts
        speaks = [fact for fact in _SPEAKS[case.sort] if fact in facts]
        if case.sort == "never_planted" and not speaks:
            speaks = [fact for fact in facts if facts[fact].value is not None][:1]
        for fact in speaks:
            key = fact == speaks[0] or (case.sort, fact) == ("one_in_two_places", "seen_at")
            yield subject, facts[fact].survey, fact, key and subject in case.subjects


def _died_and_rose(findings: Sequence[Finding], survey: str) -> list[str]:
    """The survey that found it alive, and those before that had found it dead, back to the last that had not."""
    dead: list[str] = []
    last: list[str] = []
    here: list[str] = []
    for finding in findings:
        status = finding.value("status")
        if status is None or finding.survey > survey:
            continue
        if finding.survey == survey:
            here = [survey]
            continue
        last = [finding.survey]
        dead = [*dead, finding.survey] if status == "dead" else [] if status in LIVING else dead
    return [*(dead or last), *here]
