"""What does not add up: the list, each case at its own address, and the ways to put it right."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Annotated, Any, Final

from fastapi import APIRouter, Depends, Form, Request
from fastapi.responses import RedirectResponse, Response

from server.pages.addresses import survey_named, to_case
from server.pages.door import Caller, Checked, Visitor
from server.pages.drawings import Ground, grounds_of
from server.pages.paging import Part
from server.pages.record import Record
from server.pages.rendering import render
from server.pages.repair_words import SORT_TITLES, ask_words, offered, repair_words
from server.pages.surveys import PageNumber
from server.pages.telling import in_words
from server.review.calendar import surveys_in
from server.review.cases import Case, left_as_they_are, read_case
from server.review.discrepancies import list_discrepancies
from server.review.drafts import Draft, draft, write_draft
from server.review.genet_names import list_genet_names
from server.review.maps import StructureMap, maps_in
from server.review.repairs import Repair, repair_named, repairs_of
from server.review.roster import read_roster
from server.review.sound import check_value
from server.review.structures import structures_in
from server.store.engine import reading
from server.store.record import RecordStore
from shared_schema.errors import CrosstreeError, NothingSuch, RecordError, SchemaError
from shared_schema.ids import structure_of_place

__all__ = ["Chosen", "Sight", "router"]

router = APIRouter()

ROWS_AT_ONCE: Final = 50
SHOWN_AT_ONCE: Final = 2
"""How many pages of structures are drawn beside a case."""

Text = Annotated[str, Form(max_length=4000)]


@dataclass(frozen=True, slots=True)
class Sight:
    """A page of a structure with the positions that a case is about."""

    ground: Ground
    map: StructureMap
    paths: tuple[str, ...]

    @property
    def wide(self) -> bool:
        """Whether it is too long for a column, as a stretch of a line is."""
        return self.ground.width > 2 * self.ground.height


@dataclass(frozen=True, slots=True)
class Chosen:
    """A repair that was chosen, what was given for it, and what it would write."""

    repair: Repair
    given: str
    draft: Draft


@router.get("/discrepancies")
def show_discrepancies(request: Request, store: Record, visitor: Caller, page: PageNumber = 1) -> Response:
    """What does not add up across the record."""
    found = list_discrepancies(store)
    part = Part(page, ROWS_AT_ONCE, len(found))
    some = found[part.first : part.last]
    shown = list(zip(some, left_as_they_are(store, some), strict=True))
    context = {"found": shown, "titles": SORT_TITLES, "part": part, "roster": read_roster(store)}
    return render(request, "discrepancies.html", visitor, context)


@dataclass(frozen=True, slots=True)
class Sent:
    """What the form of a preview sends: a choice with what was given for it, the seal of what was shown, a reason."""

    take: str
    given: str
    seal: str
    reason: str


def _asked(store: Record, sort: str, survey: str, names: str) -> Case:
    return read_case(store, sort, survey_named(survey), names.split(","))


def _sent(repair: Text = "", given: Text = "", seal: Text = "", reason: Text = "") -> Sent:
    return Sent(repair, given, seal, reason)


@dataclass(frozen=True, slots=True)
class _View:
    """How a case is shown beside what it is; `answered`: something was just written, and the reader's place is here."""

    chosen: Chosen | None = None
    take: str = ""
    given: str = ""
    wrong: str = ""
    reason: str = ""
    answered: bool = False
    status: int = 200


@router.get("/discrepancies/{sort}/{survey}/{names}")
def show_case(request: Request, store: Record, visitor: Caller, case: Annotated[Case, Depends(_asked)]) -> Response:
    """One discrepancy, or what became of it; with `repair` in the query what that repair would write."""
    take = request.query_params.get("repair", "")
    if not take or not visitor.may("supervisor"):
        return _show(request, store, visitor, case, _View())
    given = [one.strip() for one in request.query_params.getlist(f"given-{take}") if one.strip()]
    said = given[-1] if given else ""
    try:
        chosen = _choose(store, case, take, said)
    except (SchemaError, NothingSuch) as error:
        return _show(request, store, visitor, case, _View(None, take, said, in_words(error), status=422))
    return _show(request, store, visitor, case, _View(chosen, take, said))


def _choose(store: RecordStore, case: Case, take: str, given: str) -> Chosen:
    """What a repair would write. Raises SchemaError for something given that cannot be, NothingSuch."""
    repair = repair_named(store, case, take)
    if repair.asks is not None and not given:
        raise SchemaError("“%(what)s” was not given: give it, then look again.", what=ask_words(repair.asks))
    steps = repair.plan(given)
    if repair.asks is not None:
        check_value(store, steps[0].subject, repair.asks, given)
    return Chosen(repair, given, draft(store, steps, case.findings, case.rests_on))


@router.post("/discrepancies/{sort}/{survey}/{names}")
def mend_case(
    request: Request,
    store: Record,
    visitor: Checked,
    case: Annotated[Case, Depends(_asked)],
    sent: Annotated[Sent, Depends(_sent)],
) -> Response:
    """Write what the page showed, with a reason; where something came meanwhile, show what it would be now."""

    def present() -> Case:
        return read_case(store, case.discrepancy.sort, case.discrepancy.survey, case.names)

    def anew() -> Draft:
        return _choose(store, present(), sent.take, sent.given).draft

    try:
        write_draft(store, visitor.person, anew, sent.seal, sent.reason, "repair")
    except (SchemaError, RecordError) as error:
        return _show(request, store, visitor, case, _refused(store, case, sent, error))
    if _by_htmx(request):
        return _show(request, store, visitor, present(), _View(answered=True))
    return RedirectResponse(to_case(case.discrepancy), 303)


def _refused(store: RecordStore, case: Case, sent: Sent, error: CrosstreeError) -> _View:
    try:
        chosen = _choose(store, case, sent.take, sent.given)
    except (SchemaError, NothingSuch):
        chosen = None
    return _View(chosen, sent.take, sent.given, in_words(error), sent.reason, status=422 if isinstance(error, SchemaError) else 409)


def _show(request: Request, store: RecordStore, visitor: Visitor, case: Case, view: _View) -> Response:
    context = {
        "case": case,
        "view": view,
        "repairs": repairs_of(store, case),
        "sights": _sights(store, case),
        "roster": read_roster(store),
        "genets": list_genet_names(store) if case.discrepancy.sort == "unknown_genet" else (),
        **_words(),
    }
    if _by_htmx(request):
        return render(request, "mended.html", visitor, context)
    return render(request, "discrepancy.html", visitor, context, view.status)


def _words() -> Mapping[str, Any]:
    return {"titles": SORT_TITLES, "ask_words": ask_words, "offered": offered, "repair_words": repair_words}


def _sights(store: RecordStore, case: Case) -> list[Sight]:
    """The pages of structures on which the places lie that the case speaks of."""
    pages: dict[tuple[str, str], list[str]] = {}
    for place in _places(case):
        structure, _, path = place.partition("/")
        paths = pages.setdefault((structure, path.partition(".")[0]), [])
        if path not in paths:
            paths.append(path)
    with reading(store.engine) as connection:
        survey = case.discrepancy.survey or next(iter(surveys_in(connection, store.nursery)), "")
        maps = maps_in(connection, store.nursery, survey, structures_in(connection, store.nursery, {one for one, _ in pages}))
    found = []
    for (structure, page), marked in pages.items():
        design = maps[structure].hung.design
        grounds = () if design is None else grounds_of(design, by_page=True)
        ground = next((one for one in grounds if one.pages[0].path == page), None)
        if ground is not None:
            found.append(Sight(ground, maps[structure], tuple(marked)))
    return found[:SHOWN_AT_ONCE]


def _places(case: Case) -> Sequence[str]:
    """Where it hangs and where it was seen; of a case about descent or life where it hangs."""
    spoken = [one.slot.value for one in case.evidence if one.fact in ("place", "seen_at")]
    spoken += [said.value for one in case.evidence if one.fact == "place" for said in one.statements if said.disputed]
    spoken += [place for subject in case.discrepancy.subjects if (place := case.standing(subject).value("place")) is not None]
    return [place for place in spoken if structure_of_place(place) is not None]


def _by_htmx(request: Request) -> bool:
    return request.headers.get("hx-request") == "true"
