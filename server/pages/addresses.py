"""The address of each page: permanent, so that it can be kept and sent."""

from typing import Final
from urllib.parse import quote

from shared_schema.ids import split_subject

__all__ = ["STANDING", "survey_named", "to_fragment", "to_question", "to_questions", "to_structure", "to_survey"]

STANDING: Final = "standing"
"""What stands in addresses for the empty name of a survey: standing facts."""


def survey_named(text: str) -> str:
    """The survey that an address names."""
    return "" if text == STANDING else text


def to_survey(survey: str) -> str:
    """A survey's page."""
    return f"/surveys/{quote(survey)}" if survey else "/"


def to_structure(survey: str, structure: str) -> str:
    """A structure's map in a survey."""
    return f"/surveys/{quote(survey)}/structures/{quote(structure)}"


def to_questions(survey: str, structure: str | None = None) -> str:
    """The open questions of a survey, or of one structure in it."""
    start = f"/surveys/{quote(survey or STANDING)}"
    return f"{start}/questions" if structure is None else f"{start}/structures/{quote(structure)}/questions"


def to_question(survey: str, subject: str, fact: str) -> str:
    """One question, open or settled."""
    sort, name = split_subject(subject)
    return f"/surveys/{quote(survey or STANDING)}/questions/{sort}/{quote(name)}/{fact}"


def to_fragment(name: str) -> str:
    """A fragment's history."""
    return f"/fragments/{quote(name)}"
