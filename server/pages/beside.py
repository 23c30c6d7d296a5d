"""What others at the office do at the same questions: who is at one now, and which somebody answered meanwhile."""

from collections.abc import Mapping
from typing import NamedTuple

from server.pages.addresses import card_name
from server.pages.door import Visitor
from server.pages.watching import News
from server.review.answers import answers_after
from server.review.claims import Claim
from server.review.roster import Roster, read_roster
from server.store.record import RecordStore

__all__ = ["Desks", "Told", "claimed_by_others", "desks_for"]


class Told(NamedTuple):
    """Who, when (milliseconds since 1970 UTC), and for an answer the number of the office's entry."""

    who: str
    at_ms: int
    number: int = 0


class Desks(NamedTuple):
    """Cards by their anchors: those that others are at, and those that others answered since the page was made."""

    claims: Mapping[str, Told]
    answers: Mapping[str, Told]


def claimed_by_others(claims: tuple[Claim, ...], visitor: Visitor, survey: str, roster: Roster) -> dict[str, Told]:
    """Cards of a survey that others are at; where several are at one, the one who came first."""
    told: dict[str, Told] = {}
    for one in claims:
        if one.session != visitor.session and one.key.survey == survey:
            told.setdefault(card_name(one.key.subject, one.key.fact), Told(roster.person(one.person), one.since_ms))
    return told


def desks_for(store: RecordStore, visitor: Visitor, news: News, office: int, survey: str) -> Desks:
    """What a page hears that was made when the office had written so many entries."""
    roster = read_roster(store)
    answered = {
        card_name(one.key.subject, one.key.fact): Told(roster.person(one.by), one.at_ms, one.number)
        for one in (answers_after(store, office) if news.office > office else [])
        if one.key.survey == survey and one.by != visitor.person
    }
    return Desks(claimed_by_others(news.claims, visitor, survey, roster), answered)
