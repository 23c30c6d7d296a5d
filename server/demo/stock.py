"""What the crew does to the stock: the founding, cutting and restocking, planting out on the reef."""

from server.demo.calendar import Month, days_of
from server.demo.cast import GENETS, PEOPLE, SITES, STRUCTURES, SUPERVISOR
from server.demo.coral import Coral
from server.demo.nursery import Nursery
from server.demo.pen import Pen
from shared_schema.designs import design_fields
from shared_schema.entries import (
    FragmentHarvested,
    FragmentMoved,
    FragmentOutplanted,
    FragmentPlanted,
    GenetRegistered,
    PersonListed,
    StructureHung,
)

__all__ = ["found", "hang_structures", "plant_out", "restock"]

_FOUNDED = "2024-11-12"
_PIECE_MM = 70
_MOST_PIECES = 4


def found(nursery: Nursery) -> None:
    """What the office knew when the record began: people, genets, founders on the table, their cuttings on trees and lines."""
    office = nursery.office
    office.at(_FOUNDED, 9 * 60)
    for name, person in PEOPLE.items():
        office.write(PersonListed, f"person:{name}", "", SUPERVISOR, name=person.name, role=person.role)
    for name, traits in GENETS.items():
        office.write(
            GenetRegistered,
            f"genet:{name}",
            "",
            SUPERVISOR,
            name=name,
            species=traits.species,
            aphia_id=traits.aphia_id,
            accession=f"{traits.code}-2023-1",
            donor=traits.donor,
        )
    hang_structures(nursery, [name for name in STRUCTURES if name not in ("T09", "T10", "T11", "T12")], _FOUNDED)
    mothers: dict[str, list[Coral]] = {name: [] for name in GENETS}
    for place, genet in zip(nursery.free("B1"), [*GENETS] * 5, strict=False):
        mothers[genet].append(_first(nursery, genet, place, None))
    for structure in nursery.hung:
        genets = STRUCTURES[structure].genets
        for turn, place in enumerate(nursery.free(structure)):
            if nursery.chance(0.88):
                genet = genets[turn % len(genets)]
                _first(nursery, genet, place, mothers[genet][nursery.below(len(mothers[genet]))])


def _first(nursery: Nursery, genet: str, place: str, mother: Coral | None) -> Coral:
    length = (150 if mother else 350) + 200 * nursery.rng.random()
    tag = nursery.new_tag() if mother is None or nursery.chance(0.3) else None
    parent = mother.name if mother is not None else None
    coral = nursery.hang(Coral(nursery.new_name(genet), genet, parent, place, length, tag))
    nursery.office.write(
        FragmentPlanted,
        f"fragment:{coral.name}",
        "",
        SUPERVISOR,
        place=place,
        genet=genet,
        parent=parent,
        donor=None if mother else coral.genet.donor,
        accession=None if mother else f"{coral.genet.code}-2023-1",
        tag=tag,
    )
    return coral


def hang_structures(nursery: Nursery, names: list[str], day: str) -> None:
    """New structures go into the water."""
    nursery.office.at(day, 10 * 60)
    for name in names:
        hung = STRUCTURES[name]
        nursery.hung.append(name)
        nursery.office.write(
            StructureHung,
            f"structure:{name}",
            "",
            SUPERVISOR,
            design=design_fields(hung.design),
            depth_cm=hung.depth_cm,
            location=hung.location,
        )


def restock(nursery: Nursery, month: Month) -> None:
    """Take the dead out, cut mothers, and hang the cuttings where there is room."""
    _, day = days_of(month.survey)
    for turn, structure in enumerate(nursery.hung):
        pen, diver = nursery.tablet(turn), nursery.diver(turn + 1)
        pen.at(day, 8 * 60 + turn)
        for coral in list(nursery.corals.values()):
            if coral.structure == structure and not coral.closed and coral.status == "dead":
                pen.write(FragmentMoved, f"fragment:{coral.name}", month.survey, diver, place="removed", reason="dead")
                coral.put("removed")
                coral.closed = True
        rooms: dict[str, list[str]] = {}
        genets = STRUCTURES[structure].genets
        for turn_of_genet, place in enumerate(nursery.free(structure)):
            rooms.setdefault(genets[turn_of_genet % len(genets)], []).append(place)
        for genet, places in rooms.items():
            _cut(nursery, month.survey, pen, diver, genet, places)


def _cut(nursery: Nursery, survey: str, pen: Pen, diver: str, genet: str, places: list[str]) -> None:
    mothers = [
        one for one in nursery.corals.values() if one.genet_name == genet and one.living and one.length > 280 and not one.sick
    ]
    while places and mothers:
        mother = mothers.pop(nursery.below(len(mothers)))
        cut, places = places[:_MOST_PIECES], places[_MOST_PIECES:]
        pen.write(FragmentHarvested, f"fragment:{mother.name}", survey, diver, pieces=len(cut), length_mm=_PIECE_MM)
        mother.length -= _PIECE_MM * len(cut) * 0.6
        for place in cut:
            tag = nursery.new_tag() if nursery.chance(0.3) else None
            child = nursery.hang(Coral(nursery.new_name(genet), genet, mother.name, place, _PIECE_MM, tag))
            pen.write(
                FragmentPlanted,
                f"fragment:{child.name}",
                survey,
                diver,
                place=place,
                genet=genet,
                parent=_parent_as_typed(nursery, survey, child),
                tag=_tag_as_typed(nursery, survey, child),
                length_mm=_PIECE_MM,
            )


def _parent_as_typed(nursery: Nursery, survey: str, child: Coral) -> str | None:
    """Once, a finger slips on the mother's number: a parent that does not exist."""
    slipped = nursery.slip("parent", survey == "2025-12" and child.genet_name == "Havreli")
    return f"{child.parent}7" if slipped else child.parent


def _tag_as_typed(nursery: Nursery, survey: str, child: Coral) -> str | None:
    """Once, a tag is read off a coral of the brood stock: two corals with one tag."""
    if nursery.slip("tag", survey == "2026-04"):
        return next(one.tag for one in nursery.corals.values() if one.structure == "B1" and one.tag is not None and one.living)
    return child.tag


def plant_out(nursery: Nursery, month: Month) -> None:
    """Fix the largest corals to the reef; the brood stock on the table stays."""
    ready = [one for one in nursery.corals.values() if one.living and one.structure != "B1" and one.status == "alive"]
    ready.sort(key=lambda coral: (-coral.length, coral.name))
    pen, diver = nursery.tablet(1), nursery.diver(2)
    pen.at(days_of(month.survey)[1], 13 * 60)
    for turn, coral in enumerate(ready[: month.outplant]):
        site = SITES[turn % len(SITES)]
        pen.write(
            FragmentOutplanted, f"fragment:{coral.name}", month.survey, diver, place=f"site:{site}", method="epoxy on bare rock"
        )
        coral.put(f"site:{site}")
        coral.closed = True
