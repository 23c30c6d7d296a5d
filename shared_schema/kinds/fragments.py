"""What happens to fragments: planted, moved, seen, measured, cut, brought to the reef."""

from typing import Annotated, Literal, Self

from pydantic import Field, model_validator
from pydantic_core import PydanticCustomError

from shared_schema.envelope import BaseEntry
from shared_schema.facts import Bleaching, Breakage, Millimetres, Overgrowths, Percent, Predator, Signs, Status, Text, Tie, Word
from shared_schema.ids import AddressText, Name, PlaceText, SiteText

__all__ = [
    "ConditionSeen",
    "FragmentHarvested",
    "FragmentMoved",
    "FragmentOutplanted",
    "FragmentPlanted",
    "SizeMeasured",
    "TagChecked",
]


class FragmentPlanted(BaseEntry):
    """A new fragment hangs: from a parent in the nursery, or from a donor on the reef (then it is a founder)."""

    SORTS = ("fragment",)
    STATES = ("place", "genet", "parent", "donor", "accession", "tag", "length_mm")
    kind: Literal["fragment_planted"] = "fragment_planted"
    place: PlaceText
    genet: Name | None = None
    parent: Name | None = None
    donor: Word | None = None
    accession: Word | None = None
    tag: Word | None = None
    length_mm: Millimetres | None = None


class FragmentMoved(BaseEntry):
    """A fragment went somewhere else: to another position, to the ground, into a hand, out of the nursery."""

    SORTS = ("fragment",)
    STATES = ("place",)
    kind: Literal["fragment_moved"] = "fragment_moved"
    place: PlaceText
    reason: Text | None = None


class ConditionSeen(BaseEntry):
    """What a diver saw of a fragment. `basis` says whether somebody tapped it or it came by signing a page off."""

    SORTS = ("fragment", "position")
    STATES = ("status", "live_tissue", "bleaching", "predator", "signs", "overgrowth", "breakage", "tie", "seen_at")
    kind: Literal["condition_seen"] = "condition_seen"
    basis: Literal["tapped", "signed_off"] = "tapped"
    seen_at: AddressText | None = None
    status: Status | None = None
    live_tissue: Percent | None = None
    bleaching: Bleaching | None = None
    predator: Predator | None = None
    signs: Signs | None = None
    overgrowth: Overgrowths | None = None
    breakage: Breakage | None = None
    tie: Tie | None = None

    @model_validator(mode="after")
    def _says_something(self) -> Self:
        # Nearly all state a status; to look at each field would be a fifth of the time that an entry takes to read.
        if self.status is None and all(getattr(self, name) is None for name in self.STATES if name != "seen_at"):
            raise PydanticCustomError(
                "states_nothing", "a condition_seen must state something: status, live_tissue, bleaching, predator, signs, ..."
            )
        return self


class SizeMeasured(BaseEntry):
    """A fragment's size in whole millimetres; TLE is the sum of all branch lengths."""

    SORTS = ("fragment",)
    STATES = ("length_mm", "width_mm", "height_mm", "tle_mm")
    kind: Literal["size_measured"] = "size_measured"
    length_mm: Millimetres | None = None
    width_mm: Millimetres | None = None
    height_mm: Millimetres | None = None
    tle_mm: Millimetres | None = None

    @model_validator(mode="after")
    def _says_something(self) -> Self:
        if all(getattr(self, name) is None for name in self.STATES):
            raise PydanticCustomError(
                "states_nothing", "a size_measured must state a size: length_mm, width_mm, height_mm or tle_mm"
            )
        return self


class TagChecked(BaseEntry):
    """A tag was read, could not be read, was gone, or was replaced by another."""

    SORTS = ("fragment",)
    STATES = ("tag", "tag_state")
    kind: Literal["tag_checked"] = "tag_checked"
    tag: Word | None = None
    tag_state: Literal["readable", "unreadable", "missing"]


class FragmentHarvested(BaseEntry):
    """Pieces were cut from a mother; what became of them are plantings of their own."""

    SORTS = ("fragment",)
    LOGS = "harvest"
    kind: Literal["fragment_harvested"] = "fragment_harvested"
    pieces: Annotated[int, Field(ge=1, le=10_000)]
    length_mm: Millimetres | None = None


class FragmentOutplanted(BaseEntry):
    """A fragment was fixed to the reef: `place` is `site:<name>`."""

    SORTS = ("fragment",)
    STATES = ("place",)
    kind: Literal["fragment_outplanted"] = "fragment_outplanted"
    place: SiteText
    method: Text | None = None
