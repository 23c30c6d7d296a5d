"""Repairs of descent: a genet or a mother that nobody knows, and a fragment that descends from itself."""

from collections.abc import Iterator

from server.review.cases import Case
from server.review.drafts import Step
from server.review.repairs.repair import Repair, always, leave, name_of
from server.store.record import RecordStore
from shared_schema.discrepancies import registered
from shared_schema.fold import Standing

__all__ = ["own_ancestor", "unknown_genet", "unknown_parent"]


def unknown_genet(store: RecordStore, case: Case) -> Iterator[Repair]:
    """The genet is one and has to be registered, or the fragment is of another."""
    (subject,) = case.discrepancy.subjects
    standing = case.standing(subject)
    held, name = standing.facts["genet"], name_of(subject)
    confirm = Step(subject, held.survey, "genet", held.value)
    known = Step(f"genet:{held.value}", "", "name", held.value)
    yield Repair("genet_registered", {"fragment": name, "genet": held.value}, always(known, confirm))
    mother = standing.value("parent")
    genet = None if mother is None else store.standing(f"fragment:{mother}").value("genet")
    if genet is not None and genet != held.value and registered(store.standing(f"genet:{genet}")):
        step = Step(subject, held.survey, "genet", genet)
        names = {"fragment": name, "genet": genet, "parent": mother, "other": held.value}
        yield Repair("genet_of_mother", names, always(step))

    def other(given: str) -> tuple[Step, ...]:
        return (Step(subject, held.survey, "genet", given),)

    yield Repair("other_genet", {"fragment": name, "genet": held.value}, other, "genet")
    yield from leave(case)


def unknown_parent(_: RecordStore, case: Case) -> Iterator[Repair]:
    """It was cut from another one, or its mother was there and nobody wrote so."""
    (subject,) = case.discrepancy.subjects
    standing = case.standing(subject)
    held, genet = standing.facts["parent"], standing.value("genet")
    names = {"fragment": name_of(subject), "parent": held.value}
    yield _other_mother(case, standing)
    mother = f"fragment:{held.value}"
    gone = [Step(mother, held.survey, "place", "removed"), Step(subject, held.survey, "parent", held.value)]
    if genet is not None:
        gone.append(Step(mother, held.survey, "genet", genet))
    yield Repair("mother_on_record", names, always(*gone))
    yield from leave(case)


def own_ancestor(_: RecordStore, case: Case) -> Iterator[Repair]:
    """One of the circle was cut from another one."""
    circle = sorted(case.findings, key=lambda subject: (subject not in case.discrepancy.subjects, subject))
    for subject in circle:
        standing = case.standing(subject)
        if standing.value("parent") is not None:
            yield _other_mother(case, standing)
    yield from leave(case)


def _other_mother(case: Case, standing: Standing) -> Repair:
    """Somebody says from which one; what others said is offered."""
    held = standing.facts["parent"]
    said = [one.value for each in case.evidence if each.subject == standing.subject for one in each.statements if not one.withdrawn]
    others = tuple(sorted({value for value in said if value != held.value}))

    def plan(given: str) -> tuple[Step, ...]:
        return (Step(standing.subject, held.survey, "parent", given),)

    return Repair("other_mother", {"fragment": name_of(standing.subject), "parent": held.value}, plan, "parent", others)
