"""What somebody needs who plans a survey: what hangs where, what the survey before left, who there is, what was planned."""

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime, timezone
from typing import Any

from pydantic_core import from_json
from sqlalchemy import Connection, and_, func, select
from sqlmodel import col

from server.review.calendar import Plan, plans_in, surveys_in
from server.review.structures import structures_in
from server.store.engine import reading
from server.store.models import EntryRow, FindingRow, WriterRow
from server.store.record import RecordStore
from shared_schema.entries import SurveyPlanned
from shared_schema.ids import is_office

__all__ = ["Choice", "PlanSheet", "PlanStep", "lay_out_plan", "plan_steps", "propose_survey", "site_zone"]


@dataclass(frozen=True, slots=True)
class Choice:
    """A structure that a survey can take in. `signed` of its `pages` were signed off in the survey before, if there was one."""

    structure: str
    name: str
    pages: int
    signed: int

    @property
    def due(self) -> bool:
        """Whether the survey before left some of it, or all."""
        return self.signed < max(self.pages, 1)


@dataclass(frozen=True, slots=True)
class PlanSheet:
    """`known` are the names of all surveys, `before` the one before this, "" for none; `heads` the entries that plan it.

    `sites` has the structures of each location in reading order, by location.
    """

    survey: str
    known: tuple[str, ...]
    plan: Plan
    planned: bool
    before: str
    sites: Mapping[str, Sequence[Choice]]
    heads: tuple[str, ...]

    @property
    def choices(self) -> list[Choice]:
        """All structures."""
        return [one for several in self.sites.values() for one in several]


@dataclass(frozen=True, slots=True)
class PlanStep:
    """One entry that planned the survey, and what it changed: fact -> (before, after); of lists those that went and came."""

    entry: SurveyPlanned
    changed: Mapping[str, tuple[Any, Any]]


def lay_out_plan(store: RecordStore, survey: str) -> PlanSheet:
    """A plan with all that can be chosen; `survey` may be one that nobody planned."""
    with reading(store.engine) as connection:
        plans = plans_in(connection, store.nursery)
        before = next((name for name in surveys_in(connection, store.nursery) if not survey or name < survey), "")
        signed = _signed_pages(connection, store.nursery, before)
        hung = structures_in(connection, store.nursery)
    sites: dict[str, list[Choice]] = {}
    for name, one in hung.items():
        sites.setdefault(one.location or "", []).append(Choice(name, one.name or name, len(one.pages), signed.get(name, 0)))
    plan = plans.get(survey) or Plan(survey)
    stated = store.finding("", f"survey:{survey}").slots if survey else {}
    heads = sorted({head for fact, slot in stated.items() if fact in SurveyPlanned.STATES for head in slot.heads})
    ordered = {place: sites[place] for place in sorted(sites, key=lambda place: (not place, place.casefold()))}
    return PlanSheet(survey, tuple(plans), plan, "opens" in stated, before, ordered, tuple(heads))


def _signed_pages(connection: Connection, nursery: int, survey: str) -> dict[str, int]:
    """structure -> how many of its pages somebody signed off in a survey."""
    if not survey:
        return {}
    rows = connection.execute(
        select(col(FindingRow.structure), func.count())
        .where(
            col(FindingRow.nursery) == nursery,
            col(FindingRow.survey) == survey,
            col(FindingRow.subject) >= "page:",
            col(FindingRow.subject) < "page;",
            col(FindingRow.slots).contains('"marked":', autoescape=True),
        )
        .group_by(col(FindingRow.structure))
    )
    return {structure: many for structure, many in rows if structure is not None}


def propose_survey(known: Collection[str], today: date) -> str:
    """A name for the next survey: this month, or the month after the newest that there is."""
    newest = max(known, default="")
    month = f"{today.year:04}-{today.month:02}"
    if newest < month:
        return month
    year, number = int(newest[:4]), int(newest[5:7])
    return f"{year + number // 12:04}-{number % 12 + 1:02}"


def plan_steps(store: RecordStore, survey: str) -> list[PlanStep]:
    """How a survey was planned, the newest entry first."""
    held = sorted(store.entries_of("", f"survey:{survey}"), key=lambda one: (one.received_ms, one.id))
    steps: list[PlanStep] = []
    before: dict[str, Any] = {}
    for one in held:
        if isinstance(one.entry, SurveyPlanned):
            now = dict(one.entry.facts())
            steps.append(
                PlanStep(one.entry, {fact: _change(before.get(fact), now[fact]) for fact in now if before.get(fact) != now[fact]})
            )
            before |= now
    return steps[::-1]


def _change(before: Any, after: Any) -> tuple[Any, Any]:
    if not isinstance(after, tuple):
        return before, after
    held = before or ()
    return tuple(one for one in held if one not in after), tuple(one for one in after if one not in held)


def site_zone(store: RecordStore) -> timezone | None:
    """The offset that clocks at the site keep: that of the last entry that a tablet brought. None where none did."""
    with reading(store.engine) as connection:
        rows = connection.execute(
            select(col(EntryRow.received), col(WriterRow.writer), col(EntryRow.raw))
            .join(
                EntryRow,
                and_(
                    col(EntryRow.nursery) == col(WriterRow.nursery),
                    col(EntryRow.writer) == col(WriterRow.writer),
                    col(EntryRow.number) == col(WriterRow.head),
                ),
            )
            .where(col(WriterRow.nursery) == store.nursery, col(EntryRow.set_aside).is_(None))
        ).all()
    tablets = [(received, raw) for received, writer, raw in rows if not is_office(writer)]
    if not tablets:
        return None
    offset = datetime.fromisoformat(from_json(max(tablets)[1])["entered"]).utcoffset()
    return None if offset is None else timezone(offset)
