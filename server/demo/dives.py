"""The monthly survey: every page read by a diver, some by two, and what else is done while one is there."""

from typing import Final

from server.demo.calendar import Month
from server.demo.coral import Coral
from server.demo.divers import look
from server.demo.nursery import Nursery, Said
from server.demo.pen import Pen
from shared_schema.entries import (
    ConditionSeen,
    DiveLogged,
    PageNotReached,
    PageSignedOff,
    SizeMeasured,
    TagChecked,
    UpkeepDone,
)

__all__ = ["survey_all"]

_READ_TWICE: Final = 0.06


def survey_all(nursery: Nursery, month: Month, turn: int) -> None:
    """Read every structure that hangs. `turn` counts the months, so that everybody gets everywhere."""
    for index, structure in enumerate(nursery.hung):
        pen, diver = nursery.tablet(index), nursery.diver(index + turn)
        day = f"{month.survey}-{6 + index // 3:02}"
        minute = 8 * 60 + index % 3 * 70
        visit = f"{month.survey}.{structure}"
        pen.at(day, minute)
        pen.write(
            DiveLogged,
            f"visit:{visit}",
            month.survey,
            diver,
            people=[diver, nursery.diver(index + turn + 1)],
            place=structure,
            visibility_cm=600 + 100 * nursery.below(14),
            water_temp_dc=262 + round(month.heat * 4) + nursery.below(12),
        )
        for page, corals in nursery.by_page(structure):
            minute += 6
            pen.at(day, minute)
            if nursery.chance(0.10 if month.storm and structure >= "T09" else 0.012):
                pen.write(PageNotReached, f"page:{structure}/{page}", month.survey, diver, visit=visit, reason="current")
                continue
            _read(nursery, month.survey, pen, diver, visit, f"{structure}/{page}", corals)
            if nursery.chance(_READ_TWICE):
                other, second = nursery.tablet(index + 1), nursery.diver(index + turn + 3)
                other.at(day, minute + 240)
                _read(nursery, month.survey, other, second, None, f"{structure}/{page}", corals, brief=True)
        pen.at(day, minute + 8)
        _care(nursery, month.survey, pen, diver, visit, structure, turn)
    for coral in nursery.corals.values():
        if coral.missing and any(said.status == "lost" for said in nursery.said.get(coral.name, ())):
            coral.closed = True


def _read(
    nursery: Nursery, survey: str, pen: Pen, diver: str, visit: str | None, page: str, corals: list[Coral], *, brief: bool = False
) -> None:
    """Read a page; whoever is `brief` states no more than a status."""
    counts = {"alive": 0, "marked": 0}
    for coral in corals:
        seen = look(coral, diver, nursery.rng)
        status = seen["status"]
        if brief:
            seen = {"status": status}
        plain = len(seen) == 1 and status in ("alive", "dead")
        entry = pen.write(
            ConditionSeen,
            f"fragment:{coral.name}",
            survey,
            diver,
            visit=visit,
            basis="signed_off" if plain else "tapped",
            seen_at=None if status == "lost" else coral.place,
            **seen,
        )
        nursery.said.setdefault(coral.name, []).append(Said(entry, diver, status))
        counts["alive" if status == "alive" else "marked"] += 1
        if status == "preyed_on" and coral.snail:
            coral.snail = nursery.chance(0.1)
            pen.write(UpkeepDone, f"position:{coral.place}", survey, diver, visit=visit, work=["predators_removed"])
        if seen.get("tie") == "loose":
            coral.loose = False
            pen.write(UpkeepDone, f"position:{coral.place}", survey, diver, visit=visit, work=["tie_replaced"])
    pen.write(PageSignedOff, f"page:{page}", survey, diver, visit=visit, **counts, unseen=0)


def _care(nursery: Nursery, survey: str, pen: Pen, diver: str, visit: str, structure: str, turn: int) -> None:
    work = ["cleaned"] if turn % 3 else ["cleaned", "float_checked", "anchor_checked"]
    minutes = 15 + nursery.below(30)
    pen.write(UpkeepDone, f"structure:{structure}", survey, diver, visit=visit, work=work, minutes=minutes)
    for coral in nursery.corals.values():
        if coral.structure != structure or not coral.living:
            continue
        if int(coral.name[-4:]) % 10 == 0 or structure == "B1":
            size = round(coral.length * (0.97 + 0.06 * nursery.rng.random()))
            pen.write(SizeMeasured, f"fragment:{coral.name}", survey, diver, visit=visit, tle_mm=size)
        if coral.tag is not None and turn % 6 == 5:
            state = "unreadable" if nursery.chance(0.05) else "missing" if nursery.chance(0.02) else "readable"
            tag = coral.tag if state == "readable" else None
            pen.write(TagChecked, f"fragment:{coral.name}", survey, diver, visit=visit, tag=tag, tag_state=state)
