"""The kinds of entry: small facts in the past tense that are written once and never changed.

Each entry is one JSON object on one line. It belongs to one *group*, a survey and a subject, and states one or more
facts of that subject; each fact is a *slot* of its own (see facts.py, fold.py). `replaces` names the entries of the group
that its author had in front of them.

What cannot be understood is not refused: `read_entry` says why (`EntryNotUnderstood`), and whoever stores entries keeps
the line as it came.
"""

import json
from typing import Annotated, Any, Final, Literal, Self, TypeAlias

from pydantic import (
    AwareDatetime,
    Field,
    StringConstraints,
    TypeAdapter,
    ValidationError,
    model_validator,
)
from pydantic_core import from_json

from shared_schema.envelope import VERSION, BaseEntry
from shared_schema.errors import BadFrame, EntryNotUnderstood
from shared_schema.facts import (
    FACTS,
    Bleaching,
    Breakage,
    ExactJson,
    Millimetres,
    Overgrowths,
    Parameters,
    Percent,
    Predator,
    Signs,
    Status,
    Tie,
    Upkeep,
    Word,
)
from shared_schema.ids import (
    AddressText,
    EntryId,
    EntryIdText,
    Name,
    PlaceText,
    is_office,
    parse_entry_id,
)

__all__ = [
    "KINDS",
    "VERSION",
    "BaseEntry",
    "ConditionSeen",
    "DiveLogged",
    "Entry",
    "EntryWithdrawn",
    "FragmentHarvested",
    "FragmentMoved",
    "FragmentOutplanted",
    "FragmentPlanted",
    "GenetRegistered",
    "NoteMade",
    "PageNotReached",
    "PageSignedOff",
    "PersonListed",
    "PhotoTaken",
    "RulingGiven",
    "SizeMeasured",
    "StructureHung",
    "SurveyPlanned",
    "TagChecked",
    "UpkeepDone",
    "entry_id_of",
    "read_entry",
    "write_entry",
]

Text = Annotated[str, StringConstraints(max_length=4000)]
Sha256 = Annotated[str, StringConstraints(pattern="^[0-9a-f]{64}$")]
PersonName = Name


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
        if all(getattr(self, name) is None for name in self.STATES if name != "seen_at"):
            raise ValueError("a condition_seen must state something: status, live_tissue, bleaching, predator, signs, ...")
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
            raise ValueError("a size_measured must state a size: length_mm, width_mm, height_mm or tle_mm")
        return self


class TagChecked(BaseEntry):
    """A tag was read, could not be read, was gone, or was replaced by another."""

    SORTS = ("fragment",)
    STATES = ("tag", "tag_state")
    kind: Literal["tag_checked"] = "tag_checked"
    tag: Word | None = None
    tag_state: Literal["readable", "unreadable", "missing"]


class UpkeepDone(BaseEntry):
    """Work on a structure, a page of it, or one position."""

    SORTS = ("structure", "page", "position", "fragment")
    LOGS = "upkeep"
    kind: Literal["upkeep_done"] = "upkeep_done"
    work: Annotated[tuple[Upkeep, ...], Field(min_length=1)]
    minutes: Annotated[int, Field(ge=0, le=1440)] | None = None


class PageSignedOff(BaseEntry):
    """Somebody vouches for a page: the counts that they signed, whole page."""

    SORTS = ("page",)
    LOGS = "coverage"
    kind: Literal["page_signed_off"] = "page_signed_off"
    alive: Annotated[int, Field(ge=0)]
    marked: Annotated[int, Field(ge=0)]
    unseen: Annotated[int, Field(ge=0)]


class PageNotReached(BaseEntry):
    """Nobody looked at this page on this dive. That says nothing about its corals."""

    SORTS = ("page", "structure")
    LOGS = "coverage"
    kind: Literal["page_not_reached"] = "page_not_reached"
    reason: Text | None = None


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
    place: Annotated[str, StringConstraints(pattern=r"^site:\w[\w.-]{0,47}$")]
    method: Text | None = None


class NoteMade(BaseEntry):
    """Words about anything. `about` names the entry that the note explains, where there is one."""

    SORTS = ("fragment", "position", "page", "structure", "genet", "survey", "visit", "site")
    LOGS = "note"
    kind: Literal["note_made"] = "note_made"
    text: Annotated[str, StringConstraints(min_length=1, max_length=4000)]
    about: EntryIdText | None = None


class PhotoTaken(BaseEntry):
    """A photo, named by the SHA-256 of its bytes, which travel apart and later."""

    SORTS = ("fragment", "position", "page", "structure", "genet", "survey", "visit", "site")
    LOGS = "photo"
    kind: Literal["photo_taken"] = "photo_taken"
    sha256: Sha256
    size: Annotated[int, Field(ge=1)]
    media_type: Literal["image/jpeg", "image/png", "image/webp"] = "image/jpeg"
    caption: Text | None = None
    slate: bool = False


class DiveLogged(BaseEntry):
    """A visit: who went down where and when. A record, not a plan: nothing here advises a diver."""

    SORTS = ("visit",)
    kind: Literal["dive_logged"] = "dive_logged"
    people: tuple[PersonName, ...] = ()
    place: Word | None = None
    went_in: AwareDatetime | None = None
    came_out: AwareDatetime | None = None
    depth_cm: Annotated[int, Field(ge=0, le=20_000)] | None = None
    visibility_cm: Annotated[int, Field(ge=0, le=20_000)] | None = None
    water_temp_dc: Annotated[int, Field(ge=-50, le=500)] | None = None

    def facts(self) -> list[tuple[str, Any]]:
        """All of it as one value: two who log the same dive differently disagree about the dive."""
        return [("dive", self.payload())]


class GenetRegistered(BaseEntry):
    """A genet, or what is taken for one until a laboratory says otherwise."""

    SORTS = ("genet",)
    STATES = ("name", "species", "aphia_id", "accession", "donor")
    kind: Literal["genet_registered"] = "genet_registered"
    name: Word
    species: Word | None = None
    aphia_id: Annotated[int, Field(ge=1)] | None = None
    accession: Word | None = None
    donor: Word | None = None


class StructureHung(BaseEntry):
    """A structure is in the water: its design in parameters (see designs.py), and where it is."""

    SORTS = ("structure",)
    STATES = ("name", "design", "depth_cm", "location")
    kind: Literal["structure_hung"] = "structure_hung"
    name: Word | None = None
    design: Parameters
    depth_cm: Annotated[int, Field(ge=0, le=100_000)] | None = None
    location: Word | None = None


class PersonListed(BaseEntry):
    """Somebody who may be named as the one who saw, typed or ruled."""

    SORTS = ("person",)
    STATES = ("name", "role")
    kind: Literal["person_listed"] = "person_listed"
    name: Word
    role: Literal["crew", "supervisor"] = "crew"


class SurveyPlanned(BaseEntry):
    """A survey: which structures, in which days (`opens` and `closes` as YYYY-MM-DD)."""

    SORTS = ("survey",)
    STATES = ("name", "opens", "closes", "structures")
    kind: Literal["survey_planned"] = "survey_planned"
    name: Word
    opens: Annotated[str, StringConstraints(pattern=r"^\d{4}-\d{2}-\d{2}$")]
    closes: Annotated[str, StringConstraints(pattern=r"^\d{4}-\d{2}-\d{2}$")]
    structures: tuple[Name, ...] = ()


class RulingGiven(BaseEntry):
    """The supervisor settles a fact, having seen the entries in `replaces`. Only the office writes these.

    `batch` names the rulings that were given, and can be taken back, as one.
    """

    SORTS = ("fragment", "position", "page", "structure", "genet", "person", "survey", "visit", "site")
    kind: Literal["ruling_given"] = "ruling_given"
    fact: str
    value: ExactJson
    reason: Text | None = None
    batch: Name | None = None

    @model_validator(mode="after")
    def _ruling_fits(self) -> Self:
        fact = FACTS.get(self.fact)
        if fact is None or fact.mode != "register":
            known = ", ".join(name for name, one in FACTS.items() if one.mode == "register")
            raise ValueError(f"fact {self.fact!r} cannot be ruled on: choose one of {known}")
        try:
            fact.check(self.value)
        except ValidationError as error:
            raise ValueError(f"{self.fact} = {self.value!r:.80}: {error.errors(include_url=False)[0]['msg']}") from error
        if not is_office(self.writer):
            raise EntryNotUnderstood("not_allowed", f"{self.id} is a ruling from {self.writer}: only the office rules")
        return self

    def facts(self) -> list[tuple[str, Any]]:
        """The one fact that is settled."""
        return [(self.fact, FACTS[self.fact].check(self.value))]


class EntryWithdrawn(BaseEntry):
    """Its author takes an entry of the same group back; it stays readable and folds to nothing."""

    SORTS = RulingGiven.SORTS
    kind: Literal["entry_withdrawn"] = "entry_withdrawn"
    target: EntryIdText
    reason: Text | None = None
    batch: Name | None = None


Entry: TypeAlias = (
    FragmentPlanted
    | FragmentMoved
    | ConditionSeen
    | SizeMeasured
    | TagChecked
    | UpkeepDone
    | PageSignedOff
    | PageNotReached
    | FragmentHarvested
    | FragmentOutplanted
    | NoteMade
    | PhotoTaken
    | DiveLogged
    | GenetRegistered
    | StructureHung
    | PersonListed
    | SurveyPlanned
    | RulingGiven
    | EntryWithdrawn
)

KINDS: Final[dict[str, type[BaseEntry]]] = {kind.model_fields["kind"].default: kind for kind in BaseEntry.__subclasses__()}
_ADAPTER: Final[TypeAdapter[Entry]] = TypeAdapter(Annotated[Entry, Field(discriminator="kind")])


def entry_id_of(line: bytes | str) -> EntryId:
    """The id of an entry's line, whatever else is in it. Raises BadFrame where there is none."""
    try:
        body = from_json(line)  # not json.loads, which takes the deeper nesting the emptier the stack is: sides would differ
    except ValueError as error:
        raise BadFrame(f"not JSON ({error}): {line[:80]!r}") from error
    name = body.get("id") if isinstance(body, dict) else None
    if not isinstance(name, str):
        raise BadFrame(f"no entry id: {line[:80]!r}")
    try:
        return parse_entry_id(name)
    except ValueError as error:
        raise BadFrame(str(error)) from error


def read_entry(line: bytes | str) -> Entry:
    """The entry on a line.

    Raises BadFrame where there is not even an id, EntryNotUnderstood where there is one and nothing can be made of it:
    an unknown kind or a newer version (a newer program wrote it), a damaged body, a ruling that is not the office's.
    """
    try:
        return _ADAPTER.validate_json(line)
    except ValidationError as error:
        raise _why(line, error) from error


def _why(line: bytes | str, error: ValidationError) -> EntryNotUnderstood:
    entry_id = entry_id_of(line)
    body = from_json(line)
    kind, version = body.get("kind"), body.get("v")
    if isinstance(version, int) and version > VERSION:
        return EntryNotUnderstood("newer", f"{entry_id} is of version {version}, and this program knows {VERSION}: update it")
    if isinstance(kind, str) and kind not in KINDS:
        return EntryNotUnderstood("unknown", f"{entry_id} is of kind {kind[:80]!r}, which this program does not know: update it")
    first = error.errors(include_url=False)[0]
    cause = first.get("ctx", {}).get("error")
    if isinstance(cause, EntryNotUnderstood):
        return cause
    where = ".".join(str(part) for part in first["loc"][1:])[:80]  # empty where the fault is in no one field
    what = f"{where} = {str(first.get('input'))[:80]!r}: " if where else ""
    detail = f"{entry_id}: {what}{first['msg'].removeprefix('Value error, ')}"
    return EntryNotUnderstood("damaged", detail[:400].replace("\0", "\\0"))  # databases index it, and not all take a NUL


def write_entry(entry: BaseEntry) -> bytes:
    """The entry as one line of JSON, without a line end; what is empty is left out."""
    body = entry.model_dump(mode="json", exclude_none=True)
    head = {"id": body.pop("id"), "kind": body.pop("kind"), "v": body.pop("v")}
    if not body["survey"]:
        del body["survey"]
    if not body["replaces"]:
        del body["replaces"]
    return json.dumps(head | body, ensure_ascii=False, separators=(",", ":")).encode()
