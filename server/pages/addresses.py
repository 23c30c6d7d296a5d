"""The address of each page: permanent, so that it can be kept and sent."""

from functools import lru_cache
from typing import Final
from urllib import parse
from urllib.parse import urlencode

from shared_schema.discrepancies import Discrepancy
from shared_schema.ids import split_subject

__all__ = [
    "STANDING",
    "card_name",
    "survey_named",
    "to_case",
    "to_correct",
    "to_correction",
    "to_coverage",
    "to_crew",
    "to_digest",
    "to_entries",
    "to_found",
    "to_fragment",
    "to_genet",
    "to_nursery_map",
    "to_person",
    "to_photo",
    "to_plan",
    "to_position",
    "to_positions",
    "to_question",
    "to_questions",
    "to_ramets",
    "to_residents",
    "to_site",
    "to_small_photo",
    "to_stock",
    "to_structure",
    "to_structure_history",
    "to_subject",
    "to_survey",
    "to_unlikely",
]

quote: Final = lru_cache(maxsize=8192)(parse.quote)
"""A page with ten thousand links names the same survey in each."""

STANDING: Final = "standing"
"""What stands in addresses for the empty name of a survey: standing facts."""


def survey_named(text: str) -> str:
    """The survey that an address names."""
    return "" if text == STANDING else text


def to_survey(survey: str) -> str:
    """A survey's page."""
    return f"/surveys/{quote(survey)}" if survey else "/"


def to_plan(survey: str) -> str:
    """A survey's plan, and how it came about."""
    return f"/surveys/{quote(survey)}/plan"


def to_coverage(survey: str, **asked: object) -> str:
    """How far a survey got, page by page; only some pages where that is asked (server.review.missing.Pages)."""
    return f"/surveys/{quote(survey)}/coverage" + (f"?{urlencode(asked)}" if asked else "")


def to_unlikely(survey: str) -> str:
    """What a survey says that is unlikely."""
    return f"/surveys/{quote(survey)}/unlikely"


def to_structure(survey: str, structure: str) -> str:
    """A structure's map in a survey."""
    return f"/surveys/{quote(survey)}/structures/{quote(structure)}"


def to_found(survey: str, condition: str, structure: str | None = None, page: str = "") -> str:
    """Those that a survey found in a condition (server.review.sightings): of all, of a structure, of a page of it."""
    if structure is None:
        return f"{to_positions(survey)}?status={condition}"
    on = f"&on={quote(page)}" if page else ""
    return f"{to_structure(survey, structure)}?status={condition}{on}#table"


def to_questions(survey: str, structure: str | None = None) -> str:
    """The open questions of a survey, or of one structure in it."""
    start = f"/surveys/{quote(survey or STANDING)}"
    return f"{start}/questions" if structure is None else f"{start}/structures/{quote(structure)}/questions"


def to_question(survey: str, subject: str, fact: str) -> str:
    """One question, open or settled."""
    sort, name = split_subject(subject)
    return f"/surveys/{quote(survey or STANDING)}/questions/{sort}/{quote(name)}/{fact}"


def to_case(discrepancy: Discrepancy) -> str:
    """A discrepancy, with what bears on it and the ways to put it right."""
    names = ",".join(quote(split_subject(subject)[1]) for subject in discrepancy.subjects)
    return f"/discrepancies/{discrepancy.sort}/{quote(discrepancy.survey or STANDING)}/{names}"


def to_correction(name: str) -> str:
    """What the office wrote at once, with one reason."""
    return f"/corrections/{quote(name)}"


def to_correct(fragment: str, survey: str | None = None, fact: str = "") -> str:
    """Where a fact of a fragment is corrected; without a fact, where it is chosen."""
    chosen = {} if survey is None else {"survey": survey or STANDING}
    query = urlencode(chosen | ({"fact": fact} if fact else {}))
    return f"/fragments/{quote(fragment)}/correct" + (f"?{query}" if query else "")


def card_name(subject: str, fact: str) -> str:
    """The id of a question's card on a page."""
    return "q-" + f"{subject}-{fact}".translate(str.maketrans(":/.", "---"))


def to_fragment(name: str) -> str:
    """A fragment's history."""
    return f"/fragments/{quote(name)}"


def to_position(address: str) -> str:
    """The history of a position, named by its address (T07/3.2.4)."""
    return f"/positions/{quote(address)}"


def to_genet(name: str) -> str:
    """A genet's family."""
    return f"/genets/{quote(name)}"


def to_ramets(genet: str, **asked: object) -> str:
    """Some ramets of a genet: those that are as asked (server.review.genets.Wanted)."""
    return f"{to_genet(genet)}?{urlencode(asked)}#ramets"


def to_structure_history(structure: str) -> str:
    """A structure with its upkeep and its surveys."""
    return f"/structures/{quote(structure)}"


def to_residents(structure: str, state: str) -> str:
    """Those in a state of the fragments whose place is on a structure."""
    return f"{to_structure_history(structure)}?state={state}#residents"


def to_crew(person: str) -> str:
    """What somebody did."""
    return f"/crew/{quote(person)}"


def to_nursery_map(survey: str) -> str:
    """All structures of a survey, by location."""
    return f"/surveys/{quote(survey)}/map"


def to_positions(survey: str) -> str:
    """All positions of a survey in one picture."""
    return f"/surveys/{quote(survey)}/positions"


def to_digest(survey: str) -> str:
    """A survey on one page."""
    return f"/surveys/{quote(survey)}/digest"


def to_site(place: str) -> str:
    """What was brought to a site on the reef; the place as entries write it (site:Orsa)."""
    return f"/sites/{quote(place.removeprefix('site:'))}"


def to_stock(survey: str, column: str) -> str:
    """The fragments behind a figure of a survey's stock."""
    return f"/surveys/{quote(survey)}/stock/{quote(column)}"


def to_entries(survey: str, subject: str) -> str:
    """The entries of a finding, as they were written."""
    sort, name = split_subject(subject)
    return f"/surveys/{quote(survey or STANDING)}/entries/{sort}/{quote(name)}"


def to_photo(sha256: str) -> str:
    """A photo's bytes."""
    return f"/photos/{sha256}"


def to_small_photo(sha256: str) -> str:
    """A photo made small."""
    return f"/photos/{sha256}/small"


def to_subject(subject: str) -> str | None:
    """The page of whatever an entry can be about; None where there is none."""
    sort, name = split_subject(subject)
    pages = {
        "fragment": to_fragment,
        "position": to_position,
        "genet": to_genet,
        "structure": to_structure_history,
        "person": to_crew,
        "survey": to_survey,
    }
    if sort == "page":
        return to_structure_history(name.partition("/")[0])
    return pages[sort](name) if sort in pages else None


def to_person(person: str) -> str:
    """Somebody's account."""
    return f"/people/{quote(person)}"
