"""One way to put a discrepancy right."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from typing import Literal, TypeAlias

from server.review.cases import Case
from server.review.drafts import Step
from shared_schema.fold import Standing
from shared_schema.ids import split_subject

__all__ = ["Plan", "Repair", "Way", "always", "leave", "lost", "name_of", "survey_to_move_in"]

Way: TypeAlias = Literal[
    "hangs_at",
    "hangs_elsewhere",
    "never_came",
    "swapped",
    "moved_there",
    "position_was_a_slip",
    "found_there",
    "not_ours",
    "lost",
    "never_dead",
    "still_dead",
    "genet_registered",
    "genet_of_mother",
    "other_genet",
    "other_mother",
    "mother_on_record",
    "other_tag",
    "earlier_tag",
    "left",
]

Plan: TypeAlias = Callable[[str], tuple[Step, ...]]


@dataclass(frozen=True, slots=True)
class Repair:
    """A way to put a discrepancy right. `names` fill its sentence: fragment, place, other, survey, genet, parent, tag.

    `asks` is the fact whose value somebody has to give, None where nothing is left to say; `offers` are values to choose
    from. `plan` gives the steps, from the given value.
    """

    way: Way
    names: Mapping[str, str]
    plan: Plan
    asks: str | None = None
    offers: tuple[str, ...] = field(default=())

    @property
    def key(self) -> str:
        """Its name in a form: the same as long as it is the same repair of the same case."""
        return "-".join([self.way, *(f"{key}={self.names[key]}" for key in sorted(self.names))])


def always(*steps: Step) -> Plan:
    """These steps, whatever is given."""
    return lambda _: steps


def name_of(subject: str) -> str:
    """The name in a subject."""
    return split_subject(subject)[1]


def survey_to_move_in(standing: Standing, place: str, base: str) -> str:
    """The survey in which somebody has to say that a fragment is at a place, so that no later sighting gainsays it."""
    seen = standing.facts.get("seen_at")
    return max(base, seen.survey) if seen is not None and seen.value != place else base


def lost(standing: Standing, base: str) -> Repair:
    """It is not there any more. `base` is the survey at whose end it was gone."""
    looked = standing.facts.get("status")
    survey = base if looked is None else max(base, looked.survey)
    step = Step(standing.subject, survey, "status", "lost")
    return Repair("lost", {"fragment": name_of(standing.subject)}, always(step))


def leave(case: Case) -> list[Repair]:
    """It is right as it stands, and the reason says why: each value is confirmed. Not while two of them disagree."""
    keys = [one for one in case.evidence if one.key]
    if not keys or any(one.slot.open for one in keys):
        return []
    steps = tuple(Step(one.subject, one.survey, one.fact, one.slot.value) for one in keys)
    return [Repair("left", {}, always(*steps))]
