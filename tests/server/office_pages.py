"""Every page of the office by its route, with addresses to look at. It is complete: a test compares it with the routes."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Final

from sqlalchemy import select
from sqlmodel import col

from server.access.links import make_link
from server.access.roles import ROUTES
from server.access.trail import COMMAND_LINE
from server.pages.addresses import to_case
from server.review.amending import draft_amendment, read_amendable
from server.review.bulk import apply_rule, preview_rule, take_batch_back
from server.review.calendar import plans_in
from server.review.discrepancies import list_discrepancies
from server.review.drafts import Draft, write_draft
from server.review.questions import list_questions, read_questions
from server.review.rulings import give_ruling
from server.store.engine import reading
from server.store.models import StandingRow
from server.store.record import RecordStore
from shared_schema.ids import split_subject

__all__ = ["NEVER_EMPTY", "NO_PAGES", "PAGES", "Shown", "addresses", "names_of"]


@dataclass(frozen=True, slots=True)
class Shown:
    """A page to look at: what to call it, and its address with the names of a record in braces."""

    called: str
    address: str


def _one(called: str, address: str, *more: tuple[str, str]) -> tuple[Shown, ...]:
    return (Shown(called, address), *(Shown(f"{called}-{suffix}", address + query) for suffix, query in more))


PAGES: Final[Mapping[str, tuple[Shown, ...]]] = {
    "GET /door": _one("door", "/door"),
    "GET /door/{link}": _one("set-password", "/door/{link}"),
    "GET /": _one("surveys", "/"),
    "GET /plan": _one("plan-new", "/plan"),
    "GET /surveys/{survey}": _one("survey", "/surveys/{survey}"),
    "GET /surveys/{survey}/plan": _one("plan", "/surveys/{survey}/plan"),
    "GET /surveys/{survey}/coverage": _one("coverage", "/surveys/{survey}/coverage"),
    "GET /surveys/{survey}/unlikely": _one("unlikely", "/surveys/{survey}/unlikely"),
    "GET /surveys/{survey}/map": _one("map", "/surveys/{survey}/map", ("growth", "?by=growth")),
    "GET /surveys/{survey}/positions": _one("positions", "/surveys/{survey}/positions", ("listed", "?status=alive")),
    "GET /surveys/{survey}/structures/{structure}": _one(
        "structure",
        "/surveys/{survey}/structures/{structure}",
        ("genet", "?by=genet"),
        ("age", "?by=age"),
        ("growth", "?by=growth"),
        ("seen", "?by=seen"),
    ),
    "GET /surveys/{survey}/questions": _one("questions", "/surveys/{survey}/questions"),
    "GET /surveys/{survey}/structures/{structure}/questions": _one(
        "structure-questions", "/surveys/{survey}/structures/{structure}/questions"
    ),
    "GET /surveys/{survey}/questions/{sort}/{name:path}/{fact}": _one("question", "/surveys/{survey}/questions/{question}"),
    "GET /rulings/{ruling}": _one("ruling", "/rulings/{ruling}"),
    "GET /surveys/{survey}/rules": _one("rules", "/surveys/{survey}/rules", ("chosen", "?rule=one-step")),
    "GET /rulings/batches/{batch}": _one("batch", "/rulings/batches/{batch}"),
    "GET /surveys/{survey}/sign-off": _one("sign-off", "/surveys/{survey}/sign-off"),
    "GET /surveys/{survey}/digest": _one("digest", "/surveys/{survey}/digest"),
    "GET /surveys/{survey}/stock/{column}": _one("stock", "/surveys/{survey}/stock/closing"),
    "GET /surveys/{survey}/entries/{sort}/{name:path}": _one("entries", "/surveys/{survey}/entries/fragment/{fragment}"),
    "GET /positions/{address:path}": _one("position", "/positions/{position}"),
    "GET /genets": _one("genets", "/genets"),
    "GET /genets/{name}": _one("genet", "/genets/{genet}"),
    "GET /structures": _one("structures", "/structures"),
    "GET /structures/{structure}": _one("structure-history", "/structures/{structure}"),
    "GET /fragments/{name}": _one("fragment", "/fragments/{fragment}"),
    "GET /fragments/{name}/correct": _one("correct", "/fragments/{fragment}/correct", ("fact", "?survey={survey}&fact=status")),
    "GET /corrections/{correction}": _one("correction", "/corrections/{correction}"),
    "GET /crew/{person}": _one("crew", "/crew/{person}"),
    "GET /sites/{site}": _one("site", "/sites/{site}"),
    "GET /search": _one("search", "/search", ("found", "?q={structure}")),
    "GET /discrepancies": _one("discrepancies", "/discrepancies"),
    "GET /discrepancies/{sort}/{survey}/{names}": _one("discrepancy", "{discrepancy}"),
    "GET /set-aside": _one("set-aside", "/set-aside"),
    "GET /tablets": _one("tablets", "/tablets"),
    "GET /account": _one("account", "/account"),
    "GET /people": _one("people", "/people"),
    "GET /people/{person}": _one("person", "/people/{account}"),
    "GET /trail": _one("trail", "/trail"),
}
"""Route of a page -> what to look at there."""

NO_PAGES: Final = frozenset(
    {route for route in ROUTES if route.startswith("GET /api")}
    | {"GET /static", "GET /favicon.ico", "GET /photos/{sha256}", "GET /photos/{sha256}/small", "GET /live"}
)
"""What is asked for and is no page."""


NEVER_EMPTY: Final = frozenset(
    {
        "GET /surveys/{survey}/questions/{sort}/{name:path}/{fact}",
        "GET /rulings/{ruling}",
        "GET /rulings/batches/{batch}",
        "GET /surveys/{survey}/entries/{sort}/{name:path}",
        "GET /fragments/{name}/correct",
        "GET /corrections/{correction}",
        "GET /sites/{site}",
        "GET /discrepancies/{sort}/{survey}/{names}",
        "GET /door",
        "GET /door/{link}",
        "GET /account",
        "GET /people",
        "GET /people/{person}",
        "GET /trail",
    }
)
"""Pages of something that is there as soon as the page is."""


def names_of(store: RecordStore, by: str) -> dict[str, str]:
    """Names of a record that has open questions, for addresses; `by` gives a ruling, applies a rule and corrects something."""
    with reading(store.engine) as connection:
        surveys = sorted(plans_in(connection, store.nursery), reverse=True)
    survey = next(one for one in surveys if list_questions(store, one))
    batch = apply_rule(store, by, survey, preview_rule(store, survey, "tapped"))
    if len(list_questions(store, survey)) < 2:
        take_batch_back(store, by, batch)
    *_, last = read_questions(store, list_questions(store, survey))
    ruled = give_ruling(store, by, last, last.disputed[0].value, last.shown, "the photo shows it").ruling
    assert ruled is not None
    asked = next(one for one in list_questions(store, survey) if one.structure)
    sort, name = split_subject(asked.subject)
    standing = store.standing(asked.subject)
    return {
        "survey": survey,
        "structure": asked.structure or "",
        "question": f"{sort}/{name}/{asked.fact}",
        "fragment": name,
        "position": str(standing.value("place")),
        "genet": str(standing.value("genet")),
        "ruling": ruled.entry.id,
        "batch": batch,
        "correction": _correct(store, by, name, survey),
        "person": last.disputed[0].entry.by,
        "site": _site(store),
        "discrepancy": to_case(list_discrepancies(store)[0]),
        "account": by,
        "link": make_link(store, by, "password", COMMAND_LINE),
    }


def _correct(store: RecordStore, by: str, fragment: str, survey: str) -> str:
    def drafted() -> Draft:
        return draft_amendment(store, read_amendable(store, fragment, survey, "live_tissue"), 55)

    return write_draft(store, by, drafted, drafted().seal, "typed 95 for 55")


def _site(store: RecordStore) -> str:
    with reading(store.engine) as connection:
        places = select(col(StandingRow.place)).where(
            col(StandingRow.nursery) == store.nursery, col(StandingRow.place).startswith("site:")
        )
        return str(connection.execute(places.order_by(col(StandingRow.place))).scalars().first()).partition(":")[2]


def addresses(names: Mapping[str, str]) -> dict[str, str]:
    """What each page is called -> its address."""
    return {one.called: one.address.format(**names) for several in PAGES.values() for one in several}
