"""A structure as a tablet shows it: what hangs where now, what each survey found, who vouched for which page."""

import json
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from functools import lru_cache
from typing import Any

from shared_schema.designs import Design, parse_design
from shared_schema.discrepancies import hanging
from shared_schema.errors import DesignError
from shared_schema.fold import Finding, Stand, Standing, stand
from shared_schema.ids import parse_address, split_subject, structure_of_place

__all__ = ["Hung", "StructureChart", "design_of", "draw_chart", "reading_order", "redraw"]


@dataclass(frozen=True, slots=True)
class Hung:
    """A fragment: what is known of it now, and what each survey found of it, first survey first."""

    fragment: str
    standing: Standing
    findings: tuple[Finding, ...]

    @property
    def place(self) -> str | None:
        """Where it is now (see ids.PlaceText), None where nobody said."""
        place: str | None = self.standing.value("place")
        return place

    @property
    def here(self) -> bool:
        """Whether it has not left the nursery and was not lost when last looked for."""
        return hanging(self.standing).here

    def finding(self, survey: str) -> Finding | None:
        """What one survey found of it, None where that survey says nothing."""
        return next((finding for finding in self.findings if finding.survey == survey), None)

    def before(self, survey: str, fact: str = "status") -> Stand | None:
        """What was known of a fact before a survey, from the latest one that speaks of it."""
        return stand(f"fragment:{self.fragment}", (one for one in self.findings if one.survey < survey)).facts.get(fact)


@dataclass(frozen=True, slots=True)
class StructureChart:
    """One structure with what hangs there.

    `by_place` has the fragments at each position address, in reading order; `about` the findings of the structure, its
    pages and its positions themselves, by subject.
    """

    structure: str
    standing: Standing
    design: Design | None
    by_place: Mapping[str, tuple[Hung, ...]]
    about: Mapping[str, tuple[Finding, ...]]

    @property
    def hung(self) -> tuple[Hung, ...]:
        """All fragments here, in reading order."""
        return tuple(one for several in self.by_place.values() for one in several)

    @property
    def pages(self) -> tuple[str, ...]:
        """The addresses of the pages, as `T07/3`: the design's, and any others where fragments are said to hang."""
        known = [] if self.design is None else [f"{self.structure}/{page.path}" for page in self.design.pages]
        return tuple(dict.fromkeys([*known, *(parse_address(place).page for place in self.by_place)]))

    def at(self, place: str) -> tuple[Hung, ...]:
        """The fragments at a position: none, one, or several where the record does not add up."""
        return self.by_place.get(place, ())

    def on_page(self, page: str) -> tuple[Hung, ...]:
        """The fragments on a page, in reading order."""
        within = f"{page}."
        return tuple(
            one for place, several in self.by_place.items() if place.startswith(within) or place == page for one in several
        )

    def finding(self, subject: str, survey: str) -> Finding | None:
        """What one survey found of the structure, a page or a position itself, as `page:T07/3`."""
        return next((one for one in self.about.get(subject, ()) if one.survey == survey), None)

    def coverage(self, page: str, survey: str) -> list[dict[str, Any]]:
        """What was vouched for of a page: each sign-off with its counts, each `not reached` with its reason."""
        finding = self.finding(f"page:{page}", survey)
        return [] if finding is None else list(finding.value("coverage") or ())


def draw_chart(structure: str, by_subject: Mapping[str, tuple[Finding, ...]]) -> StructureChart:
    """The chart from the findings of every subject that ever had to do with the structure."""
    own = f"structure:{structure}"
    standing = stand(own, by_subject.get(own, ()))
    design = design_of(standing)
    by_place: dict[str, list[Hung]] = {}
    about: dict[str, tuple[Finding, ...]] = {}
    for subject, findings in by_subject.items():
        sort, name = split_subject(subject)
        if sort == "fragment":
            hung = Hung(name, stand(subject, findings), findings)
            if hung.place is not None and structure_of_place(hung.place) == structure:
                by_place.setdefault(hung.place, []).append(hung)
        else:
            about[subject] = findings
    ordered = {place: tuple(sorted(by_place[place], key=_name)) for place in reading_order(design, by_place)}
    return StructureChart(structure, standing, design, ordered, about)


def redraw(chart: StructureChart, changed: Mapping[str, tuple[Finding, ...]]) -> StructureChart:
    """The chart after the findings of some subjects changed: what draw_chart would make of all, at the cost of those."""
    own = f"structure:{chart.structure}"
    standing = stand(own, changed[own]) if own in changed else chart.standing
    about = dict(chart.about)
    gone, come = set[str](), dict[str, list[Hung]]()
    for subject, findings in changed.items():
        sort, name = split_subject(subject)
        if sort != "fragment":
            about[subject] = findings
            continue
        gone.add(name)
        hung = Hung(name, stand(subject, findings), findings)
        if hung.place is not None and structure_of_place(hung.place) == chart.structure:
            come.setdefault(hung.place, []).append(hung)
    # Places where nothing changed keep what they have, to the object: whoever looks can tell by that.
    by_place = dict(chart.by_place)
    for place, several in chart.by_place.items():
        if place in come or any(one.fragment in gone for one in several):
            here = [one for one in several if one.fragment not in gone] + come.pop(place, [])
            by_place[place] = tuple(sorted(here, key=_name))
    by_place |= {place: tuple(sorted(several, key=_name)) for place, several in come.items()}
    by_place = {place: several for place, several in by_place.items() if several}
    design = design_of(standing) if own in changed else chart.design
    if come or design != chart.design:
        by_place = {place: by_place[place] for place in reading_order(design, by_place)}
    return StructureChart(chart.structure, standing, design, by_place, about)


def _name(hung: Hung) -> str:
    return hung.fragment


def reading_order(design: Design | None, places: Iterable[str]) -> list[str]:
    """Places of one structure as a slate lists them; those that the design does not have come last."""
    order = {} if design is None else {position.path: position.order for position in design.positions}

    def rank(place: str) -> tuple[int, list[int]]:
        path = parse_address(place).path
        return order.get(path, len(order)), [int(part) for part in path.split(".")]

    return sorted(places, key=rank)


def design_of(standing: Standing) -> Design | None:
    """The design that a structure's standing gives, None where there is none or it makes no structure."""
    parameters = standing.value("design")
    return None if parameters is None else _design(json.dumps(parameters))


@lru_cache(maxsize=256)
def _design(parameters: str) -> Design | None:
    """A nursery builds a thousand structures to a handful of designs."""
    try:
        return parse_design(json.loads(parameters))
    except DesignError:
        return None
