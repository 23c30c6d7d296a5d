"""Which surveys there are. Their order is the order of their names; no clock has a say in it."""

from dataclasses import dataclass

from sqlalchemy import Connection, func, select, true
from sqlmodel import col

from server.store.folding import load_standing
from server.store.models import FindingRow, StandingRow
from shared_schema.ids import split_subject

__all__ = ["Plan", "plans_in", "surveys_in"]


@dataclass(frozen=True, slots=True)
class Plan:
    """A survey as it was planned; `opens` and `closes` are days, None where nobody planned it."""

    survey: str
    name: str | None = None
    opens: str | None = None
    closes: str | None = None
    structures: tuple[str, ...] = ()
    people: tuple[str, ...] = ()


def plans_in(connection: Connection, nursery: int) -> dict[str, Plan]:
    """Every survey that was planned or that found something, newest first."""
    rows = connection.execute(
        select(col(StandingRow.subject), col(StandingRow.facts)).where(
            col(StandingRow.nursery) == nursery, col(StandingRow.sort) == "survey"
        )
    )
    plans: dict[str, Plan] = {}
    for subject, facts in rows:
        standing, survey = load_standing(subject, facts), split_subject(subject)[1]
        structures, people = (tuple(standing.value(fact) or ()) for fact in ("structures", "people"))
        plans[survey] = Plan(survey, standing.value("name"), standing.value("opens"), standing.value("closes"), structures, people)
    names = sorted({*plans, *surveys_in(connection, nursery)}, reverse=True)
    return {survey: plans.get(survey) or Plan(survey) for survey in names}


def surveys_in(connection: Connection, nursery: int, until: str | None = None) -> list[str]:
    """The surveys that found something, newest first; `until` leaves later ones out. Standing facts are no survey."""
    before = col(FindingRow.survey) <= until if until is not None else true()
    of_nursery = col(FindingRow.nursery) == nursery
    # The key begins with nursery and survey: each step is one look into the index, however many findings there are.
    newest = select(select(func.max(col(FindingRow.survey))).where(of_nursery, before).scalar_subquery().label("survey"))
    steps = newest.cte(recursive=True)
    next_older = select(func.max(col(FindingRow.survey))).where(of_nursery, col(FindingRow.survey) < steps.c.survey)
    steps = steps.union_all(select(next_older.scalar_subquery()).where(steps.c.survey > ""))
    return [survey for survey in connection.execute(select(steps.c.survey)).scalars() if survey]
