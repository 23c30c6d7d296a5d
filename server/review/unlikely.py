"""What a survey says that is unlikely, by the tablet's own rules: what a note explains, and what still waits for a word.

The database picks candidates by an index of what was not alive; the rules in shared_schema.unlikely decide. A note explains
the entry that it is about; one about a page's signature explains all that is unlikely on that page. So does a ruling.
"""

from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Final

from sqlalchemy import ColumnElement, Connection, Integer, and_, cast, exists, func, or_, select, true
from sqlalchemy.orm import aliased
from sqlmodel import col

from server.review.calendar import surveys_in
from server.review.entries import entries_named
from server.review.sighted import page_number, sighted, where_it_hung
from server.review.structures import natural
from server.review.touched import Touched
from server.review.turns import gone_among
from server.store.bulk import in_chunks
from server.store.folding import load_finding
from server.store.models import FindingRow
from shared_schema.envelope import BaseEntry
from shared_schema.facts import LIVING
from shared_schema.fold import Finding, Slot
from shared_schema.ids import parse_address, split_subject
from shared_schema.unlikely import MANY, Unlikely, back_to_life, none_marked, signed_in_haste

__all__ = ["Doubt", "doubts_after", "doubts_in", "tell_doubts"]

_MANY_STRUCTURES: Final = 100


@dataclass(frozen=True, slots=True)
class Doubt:
    """Something unlikely. `about` are the entries that say it, `notes` the ids of what explains it.

    `ruled`: a ruling says that it is so. `now` and `before` are what was found, where it is about one fragment.
    """

    unlikely: Unlikely
    subject: str
    about: tuple[str, ...]
    notes: tuple[str, ...] = ()
    ruled: bool = False
    now: str = ""
    before: tuple[str, str] = ("", "")

    @property
    def settled(self) -> bool:
        """Whether somebody explained it, or ruled."""
        return self.ruled or bool(self.notes)


def doubts_in(connection: Connection, nursery: int, survey: str) -> list[Doubt]:
    """All that is unlikely in a survey: what waits for a word first, then by place."""
    return _doubts(connection, nursery, survey, None)


def doubts_after(connection: Connection, nursery: int, survey: str, held: Sequence[Doubt], touched: Touched) -> list[Doubt]:
    """The same, where it was `held` and these fragments and structures were spoken of since."""
    still, again = [], set(touched.fragments)
    for one in held:
        here = one.subject in touched.fragments or one.unlikely.where.partition("/")[0] in touched.structures
        if not here:
            still.append(one)
        elif one.subject.startswith("fragment:"):
            again.add(one.subject)
    return _in_order([*still, *_doubts(connection, nursery, survey, touched._replace(fragments=frozenset(again)))])


def _doubts(connection: Connection, nursery: int, survey: str, only: Touched | None) -> list[Doubt]:
    """Of all, or of some fragments and of the pages of some structures."""
    earlier = [one for one in surveys_in(connection, nursery, survey) if one < survey]
    if only is None:
        risen = list(_risen(connection, nursery, survey, earlier, None))
    else:
        risen = [one for some in in_chunks(sorted(only.fragments)) for one in _risen(connection, nursery, survey, earlier, some)]
    named = {_page_of(one.unlikely.where) for one in risen}
    pages = _pages(connection, nursery, survey, named, None if only is None else only.structures)
    of_pages = [*_hasty(pages), *_unmarked(connection, nursery, survey, earlier, pages)]
    if only is not None:
        of_pages = [one for one in of_pages if one.unlikely.where.partition("/")[0] in only.structures]
    return _in_order(replace(one, notes=(*one.notes, *_about_signature(pages, one))) for one in (*risen, *of_pages))


def _in_order(doubts: Iterable[Doubt]) -> list[Doubt]:
    return sorted(doubts, key=lambda one: (one.settled, natural(one.unlikely.where), one.subject, one.unlikely.sort))


def tell_doubts(connection: Connection, nursery: int, doubts: Iterable[Doubt]) -> dict[str, BaseEntry]:
    """The entries that these doubts are about and those that explain them, by id."""
    return entries_named(connection, nursery, {name for one in doubts for name in (*one.about, *one.notes)})


def _page_of(where: str) -> str:
    return parse_address(where).page if "/" in where else ""


def _risen(
    connection: Connection, nursery: int, survey: str, earlier: Sequence[str], subjects: Collection[str] | None
) -> Iterator[Doubt]:
    """Fragments, all or some, that live, and were lost or dead when a survey before last looked at them."""
    # Of all, the index wants the surveys by name; of some, their order.
    before_this = col(FindingRow.survey).in_([*earlier, ""]) if subjects is None else col(FindingRow.survey) < survey
    was, now, between = aliased(FindingRow), aliased(FindingRow), aliased(FindingRow)
    gone = (
        select(col(FindingRow.subject).label("subject"), func.max(col(FindingRow.survey)).label("survey"))
        .where(*gone_among(nursery, subjects), before_this)  # just what shared_schema.unlikely lets rise: dead or lost
        .group_by(col(FindingRow.subject))
        .subquery()
    )
    looked = (col(between.nursery) == nursery, col(between.subject) == gone.c.subject, col(between.status).is_not(None))
    # Nearly all were looked at in the survey just before: one row in the order of the key tells, without the index.
    just_before = exists().where(*looked, col(between.survey) == (earlier[0] if earlier else ""))
    since = exists().where(*looked, col(between.survey) > gone.c.survey, col(between.survey) < survey)
    last_looked_then = and_(or_(gone.c.survey == (earlier[0] if earlier else ""), ~just_before), ~since)
    rows = connection.execute(
        select(col(now.subject), col(now.slots), gone.c.survey, col(was.status), col(now.place))
        .join(gone, and_(col(now.nursery) == nursery, col(now.survey) == survey, col(now.subject) == gone.c.subject))
        .join(was, and_(col(was.nursery) == nursery, col(was.survey) == gone.c.survey, col(was.subject) == gone.c.subject))
        .where(col(now.sort) == "fragment", col(now.status).in_(sorted(LIVING)), last_looked_then)
    ).all()
    hung = _where_these_hung(connection, nursery, survey, [row.subject for row in rows if row.place is None])
    for subject, slots, before, status, place in rows:
        finding = load_finding(survey, subject, slots)
        where = place or hung.get(subject) or ""
        held = finding.slots["status"]
        for one in back_to_life(split_subject(subject)[1], where, held.value, (before, status)):
            notes = tuple(_notes(finding, held.heads))
            yield Doubt(one, subject, held.heads, notes, held.ruled, held.value, (before, status))


def _where_these_hung(connection: Connection, nursery: int, survey: str, subjects: Sequence[str]) -> dict[str, str | None]:
    there = where_it_hung(nursery, survey)
    asked = (select(there.c.subject, there.c.place).where(there.c.subject.in_(some)) for some in in_chunks(subjects))
    return {subject: place for some in asked for subject, place in connection.execute(some)}


def _notes(finding: Finding, about: Collection[str]) -> Iterator[str]:
    """The notes of a group that are about one of these entries."""
    slot = finding.slots.get("note")
    for name, note in zip(slot.heads, slot.value, strict=True) if slot is not None else ():
        if note.get("about") in about:
            yield name


def _pages(
    connection: Connection, nursery: int, survey: str, more: Iterable[str], structures: Collection[str] | None
) -> dict[str, Finding]:
    """What the survey says of those pages that were signed within ten seconds or with none marked, and of `more` of them.

    `structures`: of all, or of some.
    """
    mine = (col(FindingRow.nursery) == nursery, col(FindingRow.survey) == survey)
    subject, slots = col(FindingRow.subject), col(FindingRow.slots)
    quick = (slots.like('%"seconds":_}%'), slots.like('%"seconds":_,%'))
    none = (slots.contains('"marked":0,'), slots.contains('"marked":0}'))
    every = (subject >= "page:", subject < "page;", or_(*quick, *none))
    picked: list[tuple[ColumnElement[bool], ...]] = [(*every, there) for there in _on(structures)]
    picked += [(subject.in_(some),) for some in in_chunks(sorted({f"page:{page}" for page in more if page}))]
    return {
        split_subject(name)[1]: load_finding(survey, name, text)
        for where in picked
        for name, text in connection.execute(select(subject, slots).where(*mine, *where))
    }


def _on(structures: Collection[str] | None) -> list[ColumnElement[bool]]:
    """Conditions that together pick what is on these structures; for many, as for all, one that leaves none out."""
    if structures is None or len(structures) > _MANY_STRUCTURES:
        return [true()]
    return [col(FindingRow.structure).in_(sorted(structures))] if structures else []


def _signatures(finding: Finding) -> list[tuple[str, Mapping[str, int]]]:
    """Who signed a page, by entry, with the counts."""
    slot = finding.slots.get("coverage", Slot([], ()))
    return [(name, body) for name, body in zip(slot.heads, slot.value, strict=True) if "alive" in body]


def _about_signature(pages: Mapping[str, Finding], doubt: Doubt) -> tuple[str, ...]:
    finding = pages.get(_page_of(doubt.unlikely.where)) if doubt.subject.startswith("fragment:") else None
    return () if finding is None else tuple(_notes(finding, [name for name, _ in _signatures(finding)]))


def _hasty(pages: Mapping[str, Finding]) -> Iterator[Doubt]:
    for page, finding in pages.items():
        for name, body in _signatures(finding):
            for one in signed_in_haste(page, body.get("seconds")):
                yield Doubt(one, f"page:{page}", (name,), tuple(_notes(finding, [name])))


def _unmarked(
    connection: Connection, nursery: int, survey: str, earlier: Sequence[str], pages: Mapping[str, Finding]
) -> Iterator[Doubt]:
    """Pages signed with none marked of which the visit before had many."""
    open_pages = {page for page, one in pages.items() if any(not body["marked"] for _, body in _signatures(one))}
    suspects: dict[str, tuple[int, str]] = {}
    for before in earlier:
        if not open_pages:
            break
        looked = _looked_at(connection, nursery, before, open_pages)
        suspects |= {page: (then, before) for page, then in looked.items() if then >= MANY}
        open_pages -= looked.keys()
    now = _marked_on(connection, nursery, survey, {parse_address(page).structure for page in suspects})
    for page, (then, before) in suspects.items():
        about = tuple(name for name, _ in _signatures(pages[page]))
        for one in none_marked(page, now.get(page, 0), then, before):
            yield Doubt(one, f"page:{page}", about, tuple(_notes(pages[page], about)), before=(before, str(then)))


def _looked_at(connection: Connection, nursery: int, survey: str, pages: Collection[str]) -> dict[str, int]:
    """Of these pages those that a survey looked at, with how many it marked there; a number below MANY may be too small."""
    mine = (col(FindingRow.nursery) == nursery, col(FindingRow.survey) == survey)
    crowded: set[str | None] = set()
    vouched: set[str] = set()
    for there in _on({parse_address(page).structure for page in pages}):
        hot = (
            select(col(FindingRow.structure))
            .where(*mine, there, col(FindingRow.status) != "alive", col(FindingRow.structure).is_not(None))
            .group_by(col(FindingRow.structure))
            .having(func.count() >= MANY)
        )
        crowded.update(connection.execute(hot).scalars())
        signed = select(col(FindingRow.subject)).where(
            *mine,
            there,
            col(FindingRow.subject) >= "page:",
            col(FindingRow.subject) < "page;",
            col(FindingRow.slots).contains('"marked":'),
        )
        vouched.update(split_subject(subject)[1] for subject in connection.execute(signed).scalars())
    unclear = {parse_address(page).structure for page in pages if page not in vouched or parse_address(page).structure in crowded}
    marked = _marked_on(connection, nursery, survey, unclear)
    return {page: marked.get(page, 0) for page in pages if page in marked or page in vouched}


def _marked_on(connection: Connection, nursery: int, survey: str, structures: Collection[str]) -> dict[str, int]:
    """page -> how many there were found otherwise than alive, for each page of these structures that was looked at."""
    found: dict[str, int] = {}
    for some in in_chunks(sorted(structures)):
        there = sighted(nursery, survey, some)
        number = page_number(connection, there.c.structure, there.c.place)
        marked = func.sum(cast(there.c.status != "alive", Integer))
        rows = connection.execute(select(there.c.structure, number, marked).group_by(there.c.structure, number).where(number != ""))
        found.update({f"{structure}/{page}": int(many) for structure, page, many in rows})
    return found
