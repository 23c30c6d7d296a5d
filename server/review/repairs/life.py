"""Repairs of what cannot be in the life of a fragment: dead and then alive, and a tag that two carry."""

from collections.abc import Iterator

from server.review.cases import Case
from server.review.drafts import Step
from server.review.repairs.repair import Repair, always, leave, lost, name_of
from server.store.record import RecordStore
from shared_schema.facts import LIVING
from shared_schema.fold import Standing

__all__ = ["dead_then_alive", "tag_twice"]


def dead_then_alive(_: RecordStore, case: Case) -> Iterator[Repair]:
    """It was never dead, or it still is."""
    (subject,) = case.discrepancy.subjects
    name, rose = name_of(subject), case.discrepancy.survey
    died = [one.survey for one in case.evidence if one.survey < rose and one.slot.value == "dead"]
    offers = ("fading", "bleached", "preyed_on", "sick", "alive", "could_not_tell", "lost")
    names = {"fragment": name, "survey": died[-1]}

    def never_dead(given: str) -> tuple[Step, ...]:
        return tuple(Step(subject, survey, "status", given) for survey in died)

    yield Repair("never_dead", names, never_dead, "status", offers)
    later: list[str] = []
    for finding in case.findings[subject]:
        status = finding.value("status")
        if finding.survey >= rose and status in LIVING:
            later.append(finding.survey)
        elif finding.survey > rose and status == "dead":
            break
    still = tuple(Step(subject, survey, "status", "dead") for survey in later)
    yield Repair("still_dead", {"fragment": name, "survey": rose}, always(*still))
    yield from leave(case)


def tag_twice(_: RecordStore, case: Case) -> Iterator[Repair]:
    """One of them carries another tag, or is gone."""
    standings = [case.standing(subject) for subject in case.discrepancy.subjects]
    since = max(one.facts["tag"].survey for one in standings)
    for one in standings:
        held = one.facts["tag"]
        earlier = [finding.value("tag") for finding in case.findings[one.subject] if finding.survey < held.survey]
        before = [tag for tag in earlier if tag is not None and tag != held.value]
        names = {"fragment": name_of(one.subject), "tag": held.value}
        if before and held.survey == since:
            step = Step(one.subject, since, "tag", before[-1])
            yield Repair("earlier_tag", names | {"tag": before[-1]}, always(step))
    for one in standings:
        yield _other_tag(one, since)
    for one in standings:
        yield lost(one, one.facts["place"].survey)
    yield from leave(case)


def _other_tag(standing: Standing, survey: str) -> Repair:
    def plan(given: str) -> tuple[Step, ...]:
        return (Step(standing.subject, survey, "tag", given),)

    return Repair("other_tag", {"fragment": name_of(standing.subject), "tag": standing.value("tag")}, plan, "tag")
