"""Records that do not add up, each made by what crews enter on their tablets."""

from collections.abc import Callable, Mapping
from decimal import Decimal
from typing import Final

from server.store.record import RecordStore
from shared_schema.designs import Line, Tree, design_fields
from shared_schema.discrepancies import Sort
from shared_schema.entries import (
    ConditionSeen,
    FragmentMoved,
    FragmentPlanted,
    GenetRegistered,
    PersonListed,
    StructureHung,
    SurveyPlanned,
    TagChecked,
)
from shared_schema.ids import tag_code
from tests.server.small_nursery import BEFORE, NOW, Boat

__all__ = ["CROOKED", "GIVEN", "TAG", "Crew", "settle_in"]

TAG: Final = tag_code(77)
GIVEN: Final[Mapping[str, str]] = {"place": "L1/1.9", "status": "fading", "genet": "G1", "parent": "F4", "tag": tag_code(78)}
"""What somebody at the office gives where a repair asks."""


class Crew:
    """Ana's tablet and Ben's, and short words for what they enter."""

    def __init__(self, store: RecordStore) -> None:
        self.ana, self.ben = Boat(store, "Orange", "ana", clock_off_s=3), Boat(store, "Grey", "ben", clock_off_s=-412)

    def back(self) -> None:
        """Both tablets bring what they hold."""
        self.ana.back()
        self.ben.back()

    def plants(self, boat: Boat, name: str, place: str, survey: str = NOW, **more: str) -> str:
        """A fragment is hung; gives the entry's id."""
        return boat.author.write(FragmentPlanted, f"fragment:{name}", survey, place=place, **more).id

    def moves(self, boat: Boat, name: str, place: str, survey: str = NOW) -> str:
        """A fragment is hung elsewhere; gives the entry's id."""
        return boat.author.write(FragmentMoved, f"fragment:{name}", survey, place=place).id

    def reads(self, boat: Boat, name: str, tag: str, survey: str = NOW) -> str:
        """A tag is read; gives the entry's id."""
        return boat.author.write(TagChecked, f"fragment:{name}", survey, tag=tag, tag_state="readable").id

    def sees(self, boat: Boat, name: str, status: str, place: str | None = None, survey: str = NOW) -> str:
        """A fragment is seen; gives the entry's id."""
        return boat.author.write(ConditionSeen, f"fragment:{name}", survey, status=status, seen_at=place).id


def settle_in(store: RecordStore) -> Crew:
    """A tree and a line, one genet, five fragments from before any survey: F1 to F5 on arm 1 of level 1."""
    with store.office("ines") as office:
        for person, name in (("ines", "Inés Office"), ("ana", "Ana Crew"), ("ben", "Ben Crew")):
            office.write(PersonListed, f"person:{person}", name=name, role="supervisor" if person == "ines" else "crew")
        office.write(GenetRegistered, "genet:G1", name="First genet")
        office.write(StructureHung, "structure:T1", design=design_fields(Tree()), location="made up")
        line = Line(unit="m", length=Decimal(12), spacing=Decimal("0.5"), per_stretch=13)
        office.write(StructureHung, "structure:L1", design=design_fields(line), location="made up")
        for number in range(1, 6):
            office.write(FragmentPlanted, f"fragment:F{number}", place=f"T1/1.1.{number}", genet="G1")
        for survey, day in ((BEFORE, "2026-10-12"), (NOW, "2026-11-14")):
            office.write(SurveyPlanned, f"survey:{survey}", name=f"Survey of {survey}", opens=day, closes=day)
    return Crew(store)


def _two_in_one_place(crew: Crew) -> None:
    crew.moves(crew.ben, "F2", "T1/1.1.1")
    crew.sees(crew.ben, "F2", "fading", "T1/1.1.1")
    crew.sees(crew.ana, "F1", "alive", "T1/1.1.1", BEFORE)


def _moved_to_two_places(crew: Crew) -> None:
    crew.moves(crew.ana, "F1", "L1/1.3")
    crew.moves(crew.ben, "F1", "L1/1.4")


def _seen_elsewhere(crew: Crew) -> None:
    crew.sees(crew.ben, "F1", "alive", "L1/1.3")


def _seen_where_another_hangs(crew: Crew) -> None:
    crew.sees(crew.ben, "F1", "alive", "T1/1.1.2")


def _dead_then_alive(crew: Crew) -> None:
    crew.sees(crew.ana, "F1", "dead", "T1/1.1.1", "2026-09")
    crew.sees(crew.ana, "F1", "dead", "T1/1.1.1", BEFORE)
    crew.sees(crew.ben, "F1", "alive", "T1/1.1.1")


def _unknown_genet(crew: Crew) -> None:
    crew.plants(crew.ben, "N1", "L1/1.1", genet="G9", parent="F1")


def _unknown_parent(crew: Crew) -> None:
    crew.plants(crew.ben, "N1", "L1/1.1", genet="G1", parent="M7")


def _own_ancestor(crew: Crew) -> None:
    crew.plants(crew.ana, "N1", "L1/1.1", parent="N2")
    crew.plants(crew.ben, "N2", "L1/1.2", parent="N1")


def _unknown_position(crew: Crew) -> None:
    crew.moves(crew.ben, "F1", "T1/9.9.9")
    crew.sees(crew.ana, "F1", "alive", "L1/1.2")


def _unknown_structure(crew: Crew) -> None:
    crew.plants(crew.ben, "N1", "X3/1.1")


def _never_planted(crew: Crew) -> None:
    crew.sees(crew.ana, "N1", "alive", "L1/1.4", BEFORE)
    crew.sees(crew.ben, "N1", "fading", "L1/1.5")


def _tag_twice(crew: Crew) -> None:
    crew.reads(crew.ana, "F1", TAG, BEFORE)
    crew.reads(crew.ana, "F2", "any", BEFORE)
    crew.reads(crew.ben, "F2", TAG.lower())


CROOKED: Final[Mapping[str, tuple[Sort, Callable[[Crew], None], str, frozenset[str]]]] = {
    "two in one place": (
        "two_in_one_place",
        _two_in_one_place,
        "F1,F2",
        frozenset({"never_came", "swapped", "lost", "hangs_elsewhere", "left"}),
    ),
    "moved to two places": ("one_in_two_places", _moved_to_two_places, "F1", frozenset({"hangs_at", "hangs_elsewhere"})),
    "seen elsewhere": (
        "one_in_two_places",
        _seen_elsewhere,
        "F1",
        frozenset({"moved_there", "position_was_a_slip", "hangs_elsewhere", "left"}),
    ),
    "seen where another hangs": (
        "one_in_two_places",
        _seen_where_another_hangs,
        "F1",
        frozenset({"moved_there", "swapped", "position_was_a_slip", "hangs_elsewhere", "left"}),
    ),
    "dead then alive": ("dead_then_alive", _dead_then_alive, "F1", frozenset({"never_dead", "still_dead", "left"})),
    "unknown genet": (
        "unknown_genet",
        _unknown_genet,
        "N1",
        frozenset({"genet_registered", "genet_of_mother", "other_genet", "left"}),
    ),
    "unknown mother": ("unknown_parent", _unknown_parent, "N1", frozenset({"other_mother", "mother_on_record", "left"})),
    "own ancestor": ("own_ancestor", _own_ancestor, "N1", frozenset({"other_mother", "left"})),
    "unknown position": (
        "unknown_position",
        _unknown_position,
        "F1",
        frozenset({"found_there", "never_came", "hangs_elsewhere", "left"}),
    ),
    "unknown structure": ("unknown_position", _unknown_structure, "N1", frozenset({"hangs_elsewhere", "left"})),
    "never planted": ("never_planted", _never_planted, "N1", frozenset({"found_there", "hangs_elsewhere", "not_ours", "left"})),
    "tag twice": ("tag_twice", _tag_twice, "F1,F2", frozenset({"earlier_tag", "other_tag", "lost", "left"})),
}
"""What it is -> its sort, how crews make it, the fragments that it is about, the ways to put it right."""
