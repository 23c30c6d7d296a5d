"""What every entry says of itself: its id, its group, who, when, and what its author had in front of them."""

from typing import Annotated, Any, ClassVar, Final, Self

from pydantic import AwareDatetime, BaseModel, ConfigDict, Field, JsonValue, model_validator
from pydantic_core import PydanticCustomError

from shared_schema.ids import (
    EntryId,
    EntryIdText,
    Name,
    SubjectText,
    SurveyName,
    split_subject,
)

__all__ = ["VERSION", "BaseEntry"]

VERSION: Final = 1
"""The version of the entries that this program writes, and the newest that it understands."""


class BaseEntry(BaseModel):
    """What every entry says of itself.

    `by` is who saw it, `typed_by` who typed it where that is somebody else. `observed` and `entered` are what the clock
    of the tablet said, offset included: they are for reading and decide nothing.
    """

    model_config = ConfigDict(frozen=True, extra="forbid")

    SORTS: ClassVar[tuple[str, ...]]
    """The sorts of subject that this kind may speak about."""
    STATES: ClassVar[tuple[str, ...]] = ()
    """The fields that are register facts, each under its own name. A kind states these or logs, not both."""
    LOGS: ClassVar[str | None] = None
    """The log fact that the whole entry counts for."""

    id: EntryIdText
    v: Annotated[int, Field(ge=1, le=VERSION)] = VERSION
    survey: SurveyName = ""
    subject: SubjectText
    by: Name
    typed_by: Name | None = None
    observed: AwareDatetime
    entered: AwareDatetime
    visit: Name | None = None
    replaces: tuple[EntryIdText, ...] = ()

    @model_validator(mode="after")
    def _subject_fits(self) -> Self:
        if split_subject(self.subject)[0] not in self.SORTS:
            raise PydanticCustomError(
                "subject_does_not_fit",
                "subject '{subject}' does not fit {kind}: it speaks about {sorts}",
                {"subject": self.subject, "kind": type(self).__name__, "sorts": " or ".join(self.SORTS)},
            )
        return self

    @property
    def entry_id(self) -> EntryId:
        """The id in its two parts."""
        writer, _, number = self.id.rpartition("-")
        return EntryId(writer, int(number))

    @property
    def writer(self) -> str:
        """Who wrote it: a tablet, or the office."""
        return self.id.rpartition("-")[0]

    @property
    def group(self) -> tuple[str, str]:
        """(survey, subject): the entries that fold together."""
        return self.survey, self.subject

    def facts(self) -> list[tuple[str, Any]]:
        """(fact, value) for each that the entry states."""
        if self.LOGS is not None:
            return [(self.LOGS, self.payload())]
        fields = self.__dict__
        return [(name, fields[name]) for name in self.STATES if fields[name] is not None]

    def payload(self) -> dict[str, JsonValue]:
        """The entry's own fields, without the envelope, as JSON values."""
        names = type(self).model_fields.keys() - BaseEntry.model_fields.keys() - {"kind"}
        return self.model_dump(mode="json", include=set(names), exclude_none=True)
