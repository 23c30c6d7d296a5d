"""Says in plain words what came of it."""

from collections.abc import Iterator
from itertools import groupby

from server.demo.cast import NURSERY, PEOPLE
from server.demo.outcome import Brought, Dispute, Outcome
from shared_schema.discrepancies import SORTS

__all__ = ["tell_agreement", "tell_outcome"]

_WORDS = {"preyed_on": "preyed on", "could_not_tell": "could not tell", "live_tissue": "live tissue", "seen_at": "seen at"}


def tell_outcome(outcome: Outcome, corals: int, survey: str) -> Iterator[str]:
    """Lines on what merged, what disagrees and what does not add up."""
    yield f"{NURSERY}: {corals:,} corals, two years of surveys."
    yield f"Two tablets took the map of survey {survey} along and had no network."
    yield ""
    yield "What each brought"
    for brought in outcome.brought:
        yield from _brought(brought)
    yield ""
    yield "What merged"
    total = sum(brought.entries for brought in outcome.brought)
    yield f"  {total} entries, none lost and none twice, about {outcome.seen} corals; {outcome.both} of them were looked at by both"
    yield f"  {outcome.alike} times both found the same"
    for fragment in outcome.apart:
        yield f"  {fragment}: one stated its status, the other its live tissue; that is no contradiction, and both stand"
    yield ""
    yield f"What disagrees: {_count(len(outcome.disputes), 'question')} for the supervisor"
    for dispute in outcome.disputes:
        yield from _dispute(dispute)
    if outcome.older:
        yield f"  and {_count(outcome.older, 'question')} of earlier surveys"
    yield ""
    yield f"What does not add up: {len(outcome.discrepancies)}"
    for sort, several in groupby(sorted(outcome.discrepancies), key=lambda one: one.sort):
        yield f"  {SORTS[sort]}"
        for one in several:
            yield f"    {one.detail}"
    yield ""


def _brought(brought: Brought) -> Iterator[str]:
    people = ", ".join(_first_name(person) for person in brought.people)
    yield f"  {brought.tablet}: {brought.entries} entries by {people}"
    yield f"    {_count(len(brought.signed), 'page')} signed off: {_pages(brought.signed)}"
    if brought.not_reached:
        yield f"    not reached, which says nothing about the corals there: {_pages(brought.not_reached)}"


def _pages(pages: tuple[str, ...]) -> str:
    by_structure = {name: [page.partition("/")[2] for page in several] for name, several in groupby(pages, key=_structure)}
    return "; ".join(f"{name}/{','.join(numbers)}" for name, numbers in by_structure.items())


def _structure(page: str) -> str:
    return page.partition("/")[0]


def _dispute(dispute: Dispute) -> Iterator[str]:
    said = ", ".join(f"{_first_name(one.person)} says {_word(dispute.fact, one.value)}" for one in dispute.voices)
    yield f"  {dispute.place:<10} {dispute.fragment:<9} {dispute.genet:<9} {_WORDS.get(dispute.fact, dispute.fact)}: {said}"


def _word(fact: str, value: str) -> str:
    return f"{value} %" if fact == "live_tissue" else _WORDS.get(value, value)


def _first_name(person: str) -> str:
    return PEOPLE[person].name.split()[0] if person in PEOPLE else person


def _count(number: int, what: str) -> str:
    return f"{number} {what}" if number == 1 else f"{number} {what}s"


def tell_agreement(tablets: dict[str, str], server: str) -> str:
    """Whether all show the same; `tablets` name -> what it holds and shows, as the server's."""
    apart = [name for name, shown in tablets.items() if shown != server]
    names = " and ".join(tablets)
    if apart:
        return f"NOT in step with the server: {', '.join(apart)}. That must not happen: please report it."
    return f"In step: {names} and the server hold the same entries, folded them each for itself, and show the same."
