"""Planning a survey: a form, and how the plan came to be what it is."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Annotated

from fastapi import APIRouter, Depends, Form, Request
from fastapi.responses import RedirectResponse, Response

from server.pages.addresses import to_plan, to_survey
from server.pages.door import Caller, Checked, Visitor
from server.pages.figures import zone_words
from server.pages.record import Record
from server.pages.rendering import render
from server.registry.surveys import Asked, Fault, PlanRefused, plan_survey, span_of
from server.review.planning import PlanSheet, lay_out_plan, plan_steps, propose_survey, site_zone
from server.review.roster import read_roster
from server.store.record import RecordStore
from shared_schema.errors import NothingSuch

__all__ = ["router"]

router = APIRouter()

_Text = Annotated[str, Form(max_length=400)]
_Names = Annotated[list[str] | None, Form()]


@dataclass(frozen=True, slots=True)
class _Written:
    """What stands in the form; `label` is the survey's id, `pick` the button that was pressed, of those that choose several."""

    label: _Text = ""
    name: _Text = ""
    opens: _Text = ""
    closes: _Text = ""
    structures: _Names = None
    people: _Names = None
    pick: _Text = ""
    seen: Annotated[str, Form(max_length=2000)] = ""

    @property
    def asked(self) -> Asked:
        """The plan that this asks for."""
        name, opens, closes = (text.strip() for text in (self.name, self.opens, self.closes))
        return Asked(self.label.strip(), name, opens, closes, tuple(self.structures or ()), tuple(self.people or ()))


_Form = Annotated[_Written, Depends()]


@router.get("/plan")
def show_new_plan(request: Request, store: Record, visitor: Caller) -> Response:
    """The form for a survey that is not planned yet, with a name and days proposed and what is due chosen."""
    sheet = lay_out_plan(store, "")
    survey = propose_survey(sheet.known, store.clock().date())
    opens, closes = span_of(survey)
    due = [one.structure for one in sheet.choices if one.due]
    return _show(request, store, visitor, sheet, _Written(survey, "", opens, closes, due))


@router.post("/plan")
def send_new_plan(request: Request, store: Record, visitor: Checked, written: _Form) -> Response:
    """Plan it, or choose several structures at once in the form."""
    if written.pick:
        return _pick(request, store, visitor, lay_out_plan(store, ""), written)
    try:
        plan_survey(store, written.asked, by=visitor.person, new=True)
    except PlanRefused as error:
        return _show(request, store, visitor, lay_out_plan(store, ""), written, error.faults)
    return RedirectResponse(to_survey(written.asked.survey), 303)


@router.get("/surveys/{survey}/plan")
def show_plan(request: Request, store: Record, visitor: Caller, survey: str) -> Response:
    """The plan of a survey, how it came about, and the form to change it. Raises NothingSuch."""
    sheet = lay_out_plan(store, survey)
    if survey not in sheet.known:
        raise NothingSuch("there is no survey %(survey)r in the record: nobody planned it and no tablet brought it", survey=survey)
    plan = sheet.plan
    opens, closes = (plan.opens or "", plan.closes or "") if sheet.planned else span_of(survey)
    chosen = list(plan.structures) or [one.structure for one in sheet.choices]
    name = "" if plan.name == survey else plan.name or ""
    return _show(request, store, visitor, sheet, _Written(survey, name, opens, closes, chosen, list(plan.people)))


@router.post("/surveys/{survey}/plan")
def send_plan(request: Request, store: Record, visitor: Checked, survey: str, written: _Form) -> Response:
    """Change the plan, where nobody else did meanwhile."""
    sheet = lay_out_plan(store, survey)
    if written.pick:
        return _pick(request, store, visitor, sheet, written)
    try:
        plan_survey(store, replace(written.asked, survey=survey), by=visitor.person, seen=written.seen.split())
    except PlanRefused as error:
        return _show(request, store, visitor, sheet, written, error.faults)
    return RedirectResponse(to_plan(survey), 303)


def _pick(request: Request, store: RecordStore, visitor: Visitor, sheet: PlanSheet, written: _Written) -> Response:
    """The form after one of its buttons that choose several structures: all, none, due, or all or none of a location."""
    chosen = dict.fromkeys(written.structures or ())
    add, _, site = written.pick.partition(" ")
    if site or add in ("with", "without"):
        for one in sheet.sites.get(site, ()):
            chosen.pop(one.structure, None)
            if add == "with":
                chosen[one.structure] = None
    else:
        chosen = {one.structure: None for one in sheet.choices if add == "all" or (add == "due" and one.due)}
    return _show(request, store, visitor, sheet, replace(written, structures=list(chosen)))


def _show(
    request: Request, store: RecordStore, visitor: Visitor, sheet: PlanSheet, written: _Written, faults: Sequence[Fault] = ()
) -> Response:
    roster, zone = read_roster(store), site_zone(store)
    wrong: dict[str, list[Fault]] = {}
    for fault in faults:
        wrong.setdefault(fault.field, []).append(fault)
    context = {
        "sheet": sheet,
        "written": written,
        "wrong": wrong,
        "chosen": frozenset(written.structures or ()),
        "steps": plan_steps(store, sheet.survey) if sheet.survey else [],
        "people": sorted(roster.people.items(), key=lambda pair: pair[1].casefold()),
        "roster": roster,
        "zone": None if zone is None else zone_words(store.clock().astimezone(zone)),
    }
    return render(request, "plan.html", visitor, context, 422 if faults else 200)
