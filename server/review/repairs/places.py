"""Repairs of where fragments hang: two in one place, one in two places, a place that no structure has, nobody planted it."""

from collections.abc import Iterator

from server.review.cases import Case
from server.review.drafts import Step
from server.review.repairs.repair import Repair, always, leave, lost, name_of, survey_to_move_in
from server.review.vacancies import has_position, vacant_beside, who_hangs_at
from server.store.record import RecordStore
from shared_schema.facts import value_key
from shared_schema.fold import Standing
from shared_schema.ids import structure_of_place

__all__ = ["never_planted", "one_in_two_places", "two_in_one_place", "unknown_position"]


def _hangs_elsewhere(store: RecordStore, standing: Standing, base: str) -> Repair:
    """Somebody says where it hangs instead; free positions of the same page are offered."""
    place, seen = standing.value("place"), standing.value("seen_at")

    def plan(given: str) -> tuple[Step, ...]:
        return (Step(standing.subject, survey_to_move_in(standing, given, base), "place", given),)

    names = {"fragment": name_of(standing.subject)} | ({"place": place} if place is not None else {})
    beside = place if place is not None and structure_of_place(place) is not None else seen or ""
    return Repair("hangs_elsewhere", names, plan, "place", vacant_beside(store, beside))


def _came_from(case: Case, subject: str) -> str | None:
    """The position where it hung before it came to where it hangs."""
    facts = case.standing(subject).facts
    if "place" not in facts:
        return None
    earlier = [one.value("place") for one in case.findings[subject] if one.survey < facts["place"].survey]
    before = [one for one in earlier if one is not None and one != facts["place"].value]
    return before[-1] if before and structure_of_place(before[-1]) is not None else None


def _free(store: RecordStore, place: str, but: tuple[str, ...] = ()) -> bool:
    there = who_hangs_at(store, [place]).get(place, ())
    return has_position(store, place) and all(name in but for name in there)


def two_in_one_place(store: RecordStore, case: Case) -> Iterator[Repair]:
    """One of them never came, or went on, or the two were swapped, or one is gone."""
    standings = [case.standing(subject) for subject in case.discrepancy.subjects]
    place = standings[0].value("place")
    since = max(one.facts["place"].survey for one in standings)
    for one in standings:
        origin = _came_from(case, one.subject)
        if one.facts["place"].survey == since and origin is not None and _free(store, origin):
            survey = survey_to_move_in(one, origin, since)
            names = {"fragment": name_of(one.subject), "place": origin, "other_place": place}
            yield Repair("never_came", names, always(Step(one.subject, survey, "place", origin)))
            yield from _swapped(case, one, origin, place, since)
    for one in standings:
        yield lost(one, since)
    for one in standings:
        yield _hangs_elsewhere(store, one, since)
    yield from leave(case)


def _swapped(case: Case, came: Standing, origin: str, place: str, since: str) -> Iterator[Repair]:
    """It took the other's position, and the other one its own."""
    others = [case.standing(subject) for subject in case.discrepancy.subjects if subject != came.subject]
    if len(others) == 1:
        survey = survey_to_move_in(others[0], origin, since)
        names = {"fragment": name_of(came.subject), "place": place, "other": name_of(others[0].subject), "other_place": origin}
        yield Repair("swapped", names, always(Step(others[0].subject, survey, "place", origin)))


def one_in_two_places(store: RecordStore, case: Case) -> Iterator[Repair]:
    """It is where one of those says who disagree, or it went where it was seen, or the sighting's position was a slip."""
    (subject,) = case.discrepancy.subjects
    standing = case.standing(subject)
    place, seen = standing.facts["place"], standing.facts.get("seen_at")
    name = name_of(subject)
    if place.open:
        spoken = next(one for one in case.evidence if one.fact == "place")
        for value in {value_key(one.value): one.value for one in spoken.statements if one.disputed}.values():
            names = {"fragment": name, "place": value}
            yield Repair("hangs_at", names, always(Step(subject, place.survey, "place", value)))
        yield _hangs_elsewhere(store, standing, place.survey)
        return
    if seen is None:
        return
    yield Repair("moved_there", {"fragment": name, "place": seen.value}, always(Step(subject, seen.survey, "place", seen.value)))
    yield from _changed_places(store, case, standing)
    names = {"fragment": name, "place": place.value, "other_place": seen.value}
    yield Repair("position_was_a_slip", names, always(Step(subject, seen.survey, "seen_at", place.value)))
    yield _hangs_elsewhere(store, standing, seen.survey)
    yield from leave(case)


def _changed_places(store: RecordStore, case: Case, standing: Standing) -> Iterator[Repair]:
    """Who hangs where it was seen took its position."""
    place, seen = standing.facts["place"], standing.facts["seen_at"]
    there = who_hangs_at(store, [seen.value]).get(seen.value, ())
    if len(there) != 1 or not _free(store, place.value, case.names):
        return
    other = store.standing(f"fragment:{there[0]}")
    survey = survey_to_move_in(other, place.value, max(seen.survey, other.facts["place"].survey))
    steps = (Step(standing.subject, seen.survey, "place", seen.value), Step(other.subject, survey, "place", place.value))
    names = {"fragment": case.names[0], "place": seen.value, "other": there[0], "other_place": place.value}
    yield Repair("swapped", names, always(*steps))


def unknown_position(store: RecordStore, case: Case) -> Iterator[Repair]:
    """It hangs where it was seen, where it hung before, or somewhere else."""
    (subject,) = case.discrepancy.subjects
    standing = case.standing(subject)
    place, seen = standing.facts["place"], standing.facts.get("seen_at")
    name, origin = name_of(subject), _came_from(case, subject)
    if seen is not None and seen.value != place.value and has_position(store, seen.value):
        step = Step(subject, max(place.survey, seen.survey), "place", seen.value)
        yield Repair("found_there", {"fragment": name, "place": seen.value}, always(step))
    if origin is not None and _free(store, origin, (name,)) and (seen is None or seen.value != origin):
        step = Step(subject, survey_to_move_in(standing, origin, place.survey), "place", origin)
        yield Repair("never_came", {"fragment": name, "place": origin, "other_place": place.value}, always(step))
    yield _hangs_elsewhere(store, standing, place.survey)
    yield from leave(case)


def never_planted(store: RecordStore, case: Case) -> Iterator[Repair]:
    """It hangs where it was seen, somewhere else, or is not the nursery's."""
    (subject,) = case.discrepancy.subjects
    standing = case.standing(subject)
    seen, name = standing.facts.get("seen_at"), name_of(subject)
    spoke = [one.survey for one in case.findings[subject] if one.value("seen_at") is not None]
    first = (spoke or [one.survey for one in case.findings[subject]])[0]
    if seen is not None and has_position(store, seen.value):
        # From the first sighting on, unless it was seen elsewhere then.
        elsewhere = [one.survey for one in case.findings[subject] if one.value("seen_at") not in (None, seen.value)]
        survey = seen.survey if elsewhere else first
        yield Repair("found_there", {"fragment": name, "place": seen.value}, always(Step(subject, survey, "place", seen.value)))
    yield _hangs_elsewhere(store, standing, first)
    last = case.findings[subject][-1].survey
    yield Repair("not_ours", {"fragment": name}, always(Step(subject, last, "place", "removed")))
    yield from leave(case)
