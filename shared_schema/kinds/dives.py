"""What a dive leaves besides what it saw of fragments: work done, pages looked at or not, notes, photos, its own data."""

from typing import Annotated, Any, Literal

from pydantic import AwareDatetime, Field, StringConstraints

from shared_schema.envelope import BaseEntry
from shared_schema.facts import RegisterFact, Text, Upkeep, Word
from shared_schema.ids import EntryIdText, Name

__all__ = ["DiveLogged", "NoteMade", "PageNotReached", "PageSignedOff", "PhotoTaken", "UpkeepDone"]

Sha256 = Annotated[str, StringConstraints(pattern="^[0-9a-f]{64}$")]


class UpkeepDone(BaseEntry):
    """Work on a structure, a page of it, or one position."""

    SORTS = ("structure", "page", "position", "fragment")
    LOGS = "upkeep"
    kind: Literal["upkeep_done"] = "upkeep_done"
    work: Annotated[tuple[Upkeep, ...], Field(min_length=1)]
    minutes: Annotated[int, Field(ge=0, le=1440)] | None = None


class PageSignedOff(BaseEntry):
    """Somebody vouches for a page: the counts that they signed, whole page.

    `seconds` went by from opening the page to signing it, as the tablet's clock says; left out where nobody knows.
    """

    SORTS = ("page",)
    LOGS = "coverage"
    kind: Literal["page_signed_off"] = "page_signed_off"
    alive: Annotated[int, Field(ge=0)]
    marked: Annotated[int, Field(ge=0)]
    unseen: Annotated[int, Field(ge=0)]
    seconds: Annotated[int, Field(ge=0, le=1_000_000)] | None = None


class PageNotReached(BaseEntry):
    """Nobody looked at this page on this dive. That says nothing about its corals."""

    SORTS = ("page", "structure")
    LOGS = "coverage"
    kind: Literal["page_not_reached"] = "page_not_reached"
    reason: Text | None = None


class NoteMade(BaseEntry):
    """Words about anything. `about` names the entry that the note explains, where there is one.

    `fact` names the register fact that it speaks of, where it is just one. The office's notes with a fact say that
    somebody looked at what stands in `replaces`, and that the question stays open.
    """

    SORTS = ("fragment", "position", "page", "structure", "genet", "survey", "visit", "site")
    LOGS = "note"
    kind: Literal["note_made"] = "note_made"
    text: Annotated[str, StringConstraints(min_length=1, max_length=4000)]
    about: EntryIdText | None = None
    fact: RegisterFact | None = None


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
    people: tuple[Name, ...] = ()
    place: Word | None = None
    went_in: AwareDatetime | None = None
    came_out: AwareDatetime | None = None
    depth_cm: Annotated[int, Field(ge=0, le=20_000)] | None = None
    visibility_cm: Annotated[int, Field(ge=0, le=20_000)] | None = None
    water_temp_dc: Annotated[int, Field(ge=-50, le=500)] | None = None

    def facts(self) -> list[tuple[str, Any]]:
        """All of it as one value: two who log the same dive differently disagree about the dive."""
        return [("dive", self.payload())]
