"""Bulk rules: many questions of a survey settled by one rule that says its name, shown beforehand, taken back as one.

A rule gives a value to a question or leaves it alone; it never guesses, and does not touch what somebody kept open. The
rulings of one application share a *batch* (batches.py).
"""

import hashlib
import json
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any, Final

from server.review.batches import batch_entries, batch_name, batch_sort
from server.review.entries import withdrawn_of
from server.review.questions import Question, read_open_questions
from server.store.record import RecordStore
from shared_schema.entries import EntryWithdrawn, RulingGiven
from shared_schema.errors import NotAllowed, NothingSuch, RecordError
from shared_schema.facts import FACTS, value_key
from shared_schema.sayings import mark

__all__ = [
    "RULES",
    "Batch",
    "Preview",
    "Rule",
    "Touched",
    "apply_rule",
    "is_of_rule",
    "preview_on",
    "preview_rule",
    "read_batch",
    "take_batch_back",
]

Chooser = Callable[[Question, str], list[Any]]


@dataclass(frozen=True, slots=True)
class Rule:
    """A rule by name. `choose` gives the values that it finds right; it settles a question where that is exactly one."""

    name: str
    says: str
    choose: Chooser
    needs_person: bool = False


@dataclass(frozen=True, slots=True)
class Touched:
    """A question that a rule would settle, and how."""

    question: Question
    value: Any


@dataclass(frozen=True, slots=True)
class Preview:
    """What a rule would do now. `seal` stands for exactly this: applying asks for it, so nothing unseen is touched.

    `left` are the questions that stay open, `kept` those of them that somebody looked at and left open.
    """

    rule: Rule
    person: str
    touched: tuple[Touched, ...]
    left: int
    seal: str
    kept: int = 0


@dataclass(frozen=True, slots=True)
class Batch:
    """The rulings of one application; `standing` are those that were not taken back."""

    name: str
    survey: str
    by: str
    reason: str
    rulings: tuple[RulingGiven, ...]
    standing: tuple[RulingGiven, ...]


def _tapped(question: Question, _: str) -> list[Any]:
    return [one.value for one in question.disputed if not one.by_sign_off]


def _of_person(question: Question, person: str) -> list[Any]:
    return [one.value for one in question.disputed if one.entry.by == person]


def _worse_of_neighbours(question: Question, _: str) -> list[Any]:
    ranks = _STEPS.get(question.key.fact, ())
    places = sorted({ranks.index(value) if value in ranks else -9 for value in question.values})
    if len(places) == 2 and places[0] >= 0 and places[1] - places[0] == 1:
        return [ranks[places[1]]]
    return []


_STEPS: Final[Mapping[str, tuple[Any, ...]]] = {
    "status": ("alive", "fading", "bleached"),
    "bleaching": FACTS["bleaching"].ranks,
    "breakage": FACTS["breakage"].ranks,
}

RULES: Final[Mapping[str, Rule]] = {
    rule.name: rule
    for rule in (
        Rule("tapped", mark("What somebody tapped counts, against what came by signing a page off"), _tapped),
        Rule(
            "one-step",
            mark("Where two differ by one step (alive, fading, bleached; degrees), the worse one counts"),
            _worse_of_neighbours,
        ),
        Rule("one-person", mark("What one person saw counts, wherever that person saw it"), _of_person, needs_person=True),
    )
}
"""One step apart is what trained observers differ by on a colour card (Siebeck et al. 2006), so it needs no second dive."""


def preview_rule(store: RecordStore, survey: str, rule: str, person: str = "", structure: str | None = None) -> Preview:
    """What a rule would settle among the open questions of a survey, or of one structure. Raises NothingSuch."""
    return preview_on(rule, read_open_questions(store, survey, structure), person)


def preview_on(rule: str, questions: Sequence[Question], person: str = "") -> Preview:
    """What a rule would settle among questions that were read already. Raises NothingSuch."""
    chosen = RULES.get(rule)
    if chosen is None:
        raise NothingSuch("there is no rule %(rule)r: choose one of %(rules)s", rule=rule, rules=", ".join(RULES))
    kept = sum(question.key.kept for question in questions)
    touched = []
    for question in [one for one in questions if not one.key.kept]:
        values = {value_key(value): value for value in chosen.choose(question, person)}
        if len(values) == 1:
            touched.append(Touched(question, *values.values()))
    return Preview(chosen, person, tuple(touched), len(questions) - len(touched), _seal(touched), kept)


def _seal(touched: list[Touched]) -> str:
    plain = [[one.question.key.subject, one.question.key.fact, value_key(one.value), sorted(one.question.shown)] for one in touched]
    return hashlib.sha256(json.dumps(plain).encode()).hexdigest()


def apply_rule(store: RecordStore, by: str, survey: str, preview: Preview, structure: str | None = None) -> str:
    """Settle what was shown; gives the batch's name. Raises RecordError where something came meanwhile, or nothing is touched."""
    with store.office(by) as office:
        # The nursery is locked now: what is read here is what the rulings will meet.
        present = preview_rule(store, survey, preview.rule.name, preview.person, structure)
        if present.seal != preview.seal:
            raise RecordError("something came in while you looked: see what the rule would do now, then apply it")
        if not present.touched:
            raise RecordError("the rule settles nothing here: there is nothing to apply")
        batch = batch_name(office.writer, office.last + 1, len(present.touched), "rule")
        for one in present.touched:
            key = one.question.key
            reason = present.rule.says + (f" ({preview.person})" if preview.person else "")
            office.write(
                RulingGiven,
                key.subject,
                key.survey,
                fact=key.fact,
                value=one.value,
                replaces=one.question.shown,
                reason=reason,
                batch=batch,
            )
    return batch


def is_of_rule(name: str, reason: str) -> bool:
    """Whether one rule gave a batch; where its name does not say, its reason does."""
    sort = batch_sort(name)
    return sort == "rule" if sort else any(reason == rule.says or reason.startswith(f"{rule.says} (") for rule in RULES.values())


def read_batch(store: RecordStore, name: str) -> Batch:
    """The rulings that were given as one. Raises NothingSuch."""
    rulings = tuple(one for one in batch_entries(store, name) if isinstance(one, RulingGiven) and one.batch == name)
    if not rulings:
        raise NothingSuch("there are no rulings %(name)r in the record", name=name)
    gone = withdrawn_of(store, rulings)
    standing = tuple(one for one in rulings if one.id not in gone)
    return Batch(name, rulings[0].survey, rulings[0].by, rulings[0].reason or "", rulings, standing)


def take_batch_back(store: RecordStore, by: str, name: str) -> int:
    """Withdraw all rulings of a batch that stand; gives how many. Raises NothingSuch, NotAllowed for somebody else's."""
    batch = read_batch(store, name)
    if batch.by != by:
        raise NotAllowed(
            "%(name)s was given by %(who)s, and only who gave rulings takes them back: rule anew instead", name=name, who=batch.by
        )
    with store.office(by) as office:
        standing = read_batch(store, name).standing
        for ruling in standing:
            office.write(EntryWithdrawn, ruling.subject, ruling.survey, target=ruling.id, batch=name)
    return len(standing)
