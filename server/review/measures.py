"""What a map can be coloured by besides condition: genet, day of planting, growth, day last seen.

Days are those that the clock at the site kept when somebody observed it; they come from the entries behind a finding.
"""

from calendar import monthrange
from collections import defaultdict
from collections.abc import Collection, Iterable, Mapping
from datetime import date, datetime
from typing import Any, Final, NamedTuple

import msgspec
from sqlalchemy import Connection, and_, func, select
from sqlmodel import col

from server.review.calendar import Plan
from server.review.facts_in_sql import stood_since
from server.review.growth import Growth, Size, growth_of
from server.store.bulk import in_chunks
from server.store.folding import load_finding
from server.store.models import EntryRow, FindingRow, StandingRow
from server.store.picked import SAYS_SIZE
from shared_schema.fold import Slot
from shared_schema.ids import parse_entry_id

__all__ = ["day_of", "genets_of", "growth_by", "last_day", "planted_on", "seen_last", "sizes_of"]

_PLACED: Final = '"place":['


class _Entry(msgspec.Struct):
    """What is asked here of an entry that was read whole when it came."""

    id: str
    kind: str
    by: str
    observed: str
    target: str = ""


_read: Final = msgspec.json.Decoder(_Entry).decode


def day_of(observed: str) -> date:
    """The day of a moment as an entry writes it, by the site's clock."""
    return datetime.fromisoformat(observed).date()


def last_day(plan: Plan) -> date:
    """The day that a survey's ages are counted to: its last one as planned, else the last that its name can mean."""
    if plan.closes is not None:
        return date.fromisoformat(plan.closes)
    year, month, *day = (int(part) for part in plan.survey.rstrip("abcdefghijklmnopqrstuvwxyz").split("-"))
    return date(year, month, day[0] if day else monthrange(year, month)[1])


def genets_of(connection: Connection, nursery: int, subjects: Collection[str]) -> dict[str, str]:
    """subject -> genet, as known now; those of no known genet are left out."""
    found: dict[str, str] = {}
    for some in in_chunks(sorted(subjects)):
        rows = connection.execute(
            select(col(StandingRow.subject), col(StandingRow.genet)).where(
                col(StandingRow.nursery) == nursery,
                col(StandingRow.subject).in_(some),
                col(StandingRow.genet).is_not(None),
            )
        )
        found.update({subject: genet for subject, genet in rows if genet is not None})
    return found


def planted_on(connection: Connection, nursery: int, subjects: Collection[str]) -> dict[str, date]:
    """subject -> the day it was planted; those that nobody planted are left out."""
    found: dict[str, date] = {}
    since = [stood_since(connection, fact) for fact in ("genet", "parent", "donor", "place")]
    for some in in_chunks(sorted(subjects)):
        rows = connection.execute(
            select(col(EntryRow.subject), col(EntryRow.raw))
            .join(StandingRow, and_(col(StandingRow.nursery) == nursery, col(StandingRow.subject) == col(EntryRow.subject)))
            .where(
                col(EntryRow.nursery) == nursery,
                col(EntryRow.survey).in_([*since, ""]),
                col(StandingRow.subject).in_(some),
                col(EntryRow.set_aside).is_(None),
            )
        )
        found.update(_plantings(rows))
    missing = [subject for subject in subjects if subject not in found]
    for some in in_chunks(sorted(missing)):
        found.update(_plantings(_entries_where_placed(connection, nursery, some)))
    return found


def _entries_where_placed(connection: Connection, nursery: int, subjects: Collection[str]) -> Iterable[Any]:
    """The slower way, for a planting of which later surveys restated everything."""
    return connection.execute(
        select(col(EntryRow.subject), col(EntryRow.raw))
        .join(
            FindingRow,
            and_(
                col(FindingRow.nursery) == nursery,
                col(FindingRow.survey) == col(EntryRow.survey),
                col(FindingRow.subject) == col(EntryRow.subject),
            ),
        )
        .where(
            col(EntryRow.nursery) == nursery,
            col(FindingRow.subject).in_(subjects),
            col(FindingRow.slots).contains(_PLACED, autoescape=True),
            col(EntryRow.set_aside).is_(None),
        )
    )


def _plantings(rows: Iterable[Any]) -> dict[str, date]:
    planted: defaultdict[str, list[_Entry]] = defaultdict(list)
    withdrawn: set[tuple[str, str]] = set()
    for subject, raw in rows:
        entry = _read(raw)
        if entry.kind == "fragment_planted":
            planted[subject].append(entry)
        elif entry.kind == "entry_withdrawn":
            withdrawn.add((entry.target, entry.by))
    days = {
        subject: [day_of(one.observed) for one in several if (one.id, one.by) not in withdrawn]
        for subject, several in planted.items()
    }
    return {subject: min(several) for subject, several in days.items() if several}


def seen_last(connection: Connection, nursery: int, subjects: Collection[str], until: str) -> dict[str, date]:
    """subject -> the day when somebody last said in what condition it is, in surveys up to `until`."""
    behind: dict[str, Slot] = {}
    for some in in_chunks(sorted(subjects)):
        behind.update(_looked_at(connection, nursery, some, until))
    for some in in_chunks(sorted(set(subjects) - behind.keys())):
        latest = (
            select(col(FindingRow.subject).label("subject"), func.max(col(FindingRow.survey)).label("survey"))
            .where(
                col(FindingRow.nursery) == nursery,
                col(FindingRow.subject).in_(some),
                col(FindingRow.survey) <= until,
                col(FindingRow.status).is_not(None),
            )
            .group_by(col(FindingRow.subject))
            .subquery()
        )
        rows = connection.execute(
            select(col(FindingRow.survey), col(FindingRow.subject), col(FindingRow.slots)).join(
                latest,
                and_(
                    col(FindingRow.nursery) == nursery,
                    col(FindingRow.survey) == latest.c.survey,
                    col(FindingRow.subject) == latest.c.subject,
                ),
            )
        )
        behind.update({subject: load_finding(survey, subject, slots).slots["status"] for survey, subject, slots in rows})
    days = _days_of(connection, nursery, [name for slot in behind.values() for name in slot.heads])
    return {
        subject: max(days[name] for name in slot.heads)
        for subject, slot in behind.items()
        if all(name in days for name in slot.heads)
    }


def _looked_at(connection: Connection, nursery: int, subjects: Collection[str], survey: str) -> dict[str, Slot]:
    """Of these the condition in one survey, where it has one: nearly all that are asked for were looked at in the last."""
    rows = connection.execute(
        select(col(FindingRow.subject), col(FindingRow.slots)).where(
            col(FindingRow.nursery) == nursery,
            col(FindingRow.survey) == survey,
            col(FindingRow.subject).in_(subjects),
            col(FindingRow.status).is_not(None),
        )
    )
    return {subject: load_finding(survey, subject, slots).slots["status"] for subject, slots in rows}


class Sizes(NamedTuple):
    """All sizes of a fragment, in the order of surveys."""

    tle: tuple[Size, ...] = ()
    length: tuple[Size, ...] = ()


def growth_by(connection: Connection, nursery: int, subjects: Collection[str], until: str) -> dict[str, Growth]:
    """subject -> its growth in surveys up to `until`; those not measured on two days are left out."""
    grown = {
        subject: growth_of(sizes.tle, sizes.length) for subject, sizes in sizes_of(connection, nursery, subjects, until).items()
    }
    return {subject: growth for subject, growth in grown.items() if growth is not None}


def sizes_of(connection: Connection, nursery: int, subjects: Collection[str], until: str | None = None) -> dict[str, Sizes]:
    """subject -> what was measured of it, in surveys up to `until`, or in all."""
    slots: list[tuple[str, str, str, Slot]] = []
    for some in in_chunks(sorted(subjects)):
        wanted = [
            col(FindingRow.nursery) == nursery,
            col(FindingRow.subject).in_(some),
            SAYS_SIZE,
        ]
        if until is not None:
            wanted.append(col(FindingRow.survey) <= until)
        rows = connection.execute(select(col(FindingRow.survey), col(FindingRow.subject), col(FindingRow.slots)).where(*wanted))
        for survey, subject, text in rows:
            held = load_finding(survey, subject, text).slots
            slots += [(subject, survey, fact, held[fact]) for fact in ("tle_mm", "length_mm") if fact in held]
    days = _days_of(connection, nursery, [slot.heads[0] for *_, slot in slots])
    found: defaultdict[str, dict[str, list[Size]]] = defaultdict(lambda: {"tle_mm": [], "length_mm": []})
    for subject, survey, fact, slot in sorted(slots, key=lambda each: each[1]):
        name = slot.heads[0]
        if name in days:
            found[subject][fact].append(Size(days[name], slot.value, survey, name))
    return {subject: Sizes(tuple(each["tle_mm"]), tuple(each["length_mm"])) for subject, each in found.items()}


def _days_of(connection: Connection, nursery: int, names: Collection[str]) -> Mapping[str, date]:
    """entry id -> the day when it was observed."""
    by_writer: defaultdict[str, list[int]] = defaultdict(list)
    for name in names:
        writer, number = parse_entry_id(name)
        by_writer[writer].append(number)
    days: dict[str, date] = {}
    for writer, numbers in by_writer.items():
        for some in in_chunks(sorted(numbers)):
            rows = connection.execute(
                select(col(EntryRow.number), col(EntryRow.raw)).where(
                    col(EntryRow.nursery) == nursery, col(EntryRow.writer) == writer, col(EntryRow.number).in_(some)
                )
            )
            days.update({f"{writer}-{number}": day_of(_read(raw).observed) for number, raw in rows})
    return days
