"""What is said about entries: the office settles a question or closes a survey, an author takes an entry back."""

from typing import Annotated, Any, Literal, Self

from pydantic import Field, ValidationError, model_validator
from pydantic_core import PydanticCustomError

from shared_schema.envelope import BaseEntry
from shared_schema.errors import EntryNotUnderstood
from shared_schema.facts import FACTS, ExactJson, Text
from shared_schema.ids import EntryIdText, Name, WriterText, is_office

__all__ = ["EntryWithdrawn", "RulingGiven", "SurveySignedOff"]


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
            raise PydanticCustomError(
                "cannot_be_ruled_on", "fact '{fact}' cannot be ruled on: choose one of {known}", {"fact": self.fact, "known": known}
            )
        try:
            fact.check(self.value)
        except ValidationError as error:
            told = {"fact": self.fact, "value": str(self.value)[:80], "shown": repr(self.value)[:80]}
            told["said"] = error.errors(include_url=False)[0]["msg"]
            raise PydanticCustomError("value_does_not_fit", "{fact} = {shown}: {said}", told) from error
        if not is_office(self.writer):
            raise EntryNotUnderstood("not_allowed", f"{self.id} is a ruling from {self.writer}: only the office rules")
        return self

    def facts(self) -> list[tuple[str, Any]]:
        """The one fact that is settled."""
        return [(self.fact, FACTS[self.fact].check(self.value))]


class SurveySignedOff(BaseEntry):
    """The supervisor closes a survey, saying what is still open. Only the office writes these.

    Of pages it says how many somebody did not reach, and with `unsigned` how many nobody signed, those included.
    `kept_open` are the notes by which somebody had looked at some of the questions, and left them open with a reason.
    `heads` are the entries that the office held then: by them, and not by a clock, late arrivals are told from the rest.
    """

    SORTS = ("survey",)
    LOGS = "sign_off"
    kind: Literal["survey_signed_off"] = "survey_signed_off"
    statement: Text = ""
    questions: Annotated[int, Field(ge=0)]
    unseen: Annotated[int, Field(ge=0)]
    not_reached: Annotated[int, Field(ge=0)]
    unsigned: Annotated[int, Field(ge=0)] | None = None
    unlikely: Annotated[int, Field(ge=0)] | None = None
    kept_open: tuple[EntryIdText, ...] | None = None
    heads: dict[WriterText, Annotated[int, Field(ge=0)]]

    @model_validator(mode="after")
    def _is_the_offices(self) -> Self:
        if not is_office(self.writer):
            raise EntryNotUnderstood("not_allowed", f"{self.id} signs a survey off from {self.writer}: only the office does")
        return self


class EntryWithdrawn(BaseEntry):
    """Its author takes an entry of the same group back; it stays readable and folds to nothing."""

    SORTS = RulingGiven.SORTS
    kind: Literal["entry_withdrawn"] = "entry_withdrawn"
    target: EntryIdText
    reason: Text | None = None
    batch: Name | None = None
