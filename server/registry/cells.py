"""From the text of a cell to the value of a fact. Each reader raises CellError, saying what to write instead."""

import re
from collections.abc import Callable
from datetime import date
from decimal import Decimal
from typing import Any, Final, TypeAlias

from pydantic import TypeAdapter, ValidationError

from server.registry.design_words import read_design
from server.registry.problems import CellError
from shared_schema.designs import design_fields
from shared_schema.ids import Name, PlaceText, SurveyName

__all__ = [
    "Reader",
    "read_centimetres",
    "read_choice",
    "read_date",
    "read_design_fields",
    "read_metres",
    "read_name",
    "read_names",
    "read_place",
    "read_survey",
    "read_whole",
    "read_word",
]

Reader: TypeAlias = Callable[[str], Any]

_NAME: Final[TypeAdapter[str]] = TypeAdapter(Name)
_PLACE_TEXT: Final[TypeAdapter[str]] = TypeAdapter(PlaceText)
_SURVEY: Final[TypeAdapter[str]] = TypeAdapter(SurveyName)
# What a letter is, Python and the schema's validator see differently at the edges of Unicode: both must agree.
_PLAIN: Final = re.compile(r"\w[\w.-]{0,47}")
_PLACE: Final = re.compile(rf"{_PLAIN.pattern}/[0-9]{{1,4}}(?:\.[0-9]{{1,4}}){{0,3}}|site:{_PLAIN.pattern}|ground|holding|removed")

_DATE: Final = re.compile(r"(\d{4})-(\d{2})-(\d{2})")
_OTHER_DATE: Final = re.compile(r"(\d{1,2})[/. -](\d{1,2})[/. -](\d{2}|\d{4})")
_METRES: Final = re.compile(r"\d{1,4}(?:\.\d{1,2})?")


def read_name(text: str) -> str:
    """A name that other rows, tags and addresses can use."""
    if not _PLAIN.fullmatch(text) or not (text.isascii() or _fits(_NAME, text)):
        raise CellError(
            "no name that can be used: begin with a letter or digit, go on with letters, digits, _ . or -, "
            "at most 48 in all and no blanks, as PA-0042"
        )
    return text


def read_names(text: str) -> tuple[str, ...]:
    """Names between blanks, commas or semicolons."""
    return tuple(read_name(part) for part in re.split(r"[\s,;]+", text) if part)


def read_place(text: str) -> str:
    """A position, a site, or one of the places that are none."""
    if not _PLACE.fullmatch(text) or not (text.isascii() or _fits(_PLACE_TEXT, text)):
        raise CellError(
            "no place: write a position as T07/3.2.4 (structure, level, arm, hole) or L1/1.7, "
            "or site:NAME, ground, holding or removed"
        )
    return text


def read_survey(text: str) -> str:
    """The name of a survey: its month or day."""
    if not text or not _fits(_SURVEY, text):
        raise CellError("no survey name: write its month or day, with a letter where there are several, as 2026-11b")
    return text


def read_word(text: str) -> str:
    """Any words."""
    if len(text) > 200:
        raise CellError(f"{len(text)} characters are too many: write at most 200")
    return text


def read_date(text: str) -> str:
    """A day as YYYY-MM-DD. Any other way to write it is refused: 03/04/2026 is two days, by where one learned to write."""
    match = _DATE.fullmatch(text)
    if match is None:
        raise CellError(_which_day(text) or "no date: write it as YYYY-MM-DD, as 2026-04-03")
    try:
        return date(int(match[1]), int(match[2]), int(match[3])).isoformat()
    except ValueError as error:
        raise CellError(f"no day of the calendar ({error}): write it as YYYY-MM-DD") from error


def _which_day(text: str) -> str:
    match = _OTHER_DATE.fullmatch(text)
    if match is None:
        return ""
    one, two = int(match[1]), int(match[2])
    year = match[3] if len(match[3]) == 4 else f"20{match[3]}"
    if one <= 12 and two <= 12 and one != two:
        return f"ambiguous: write {year}-{two:02}-{one:02} or {year}-{one:02}-{two:02}, whichever is meant (YYYY-MM-DD)"
    day, month = (one, two) if two <= 12 else (two, one)
    return f"dates are written one way only, YYYY-MM-DD: is it {year}-{month:02}-{day:02}?"


def read_whole(least: int, most: int, of: str) -> Reader:
    """A reader of whole numbers in a range; `of` says what they count."""

    def read(text: str) -> int:
        if not re.fullmatch(r"[0-9]{1,12}", text) or not least <= int(text) <= most:
            raise CellError(f"no whole number of {of} from {least} to {most}: write digits only")
        return int(text)

    return read


read_centimetres: Final = read_whole(0, 100_000, "cm")


def read_metres(text: str) -> int:
    """Metres, to the centimetre -> centimetres."""
    if not _METRES.fullmatch(text) or Decimal(text) > 1000:
        raise CellError("no depth in metres from 0 to 1000: write digits, a point and at most two digits, as 4.5")
    return int(Decimal(text) * 100)


def read_choice(*choices: str) -> Reader:
    """A reader of one of a few words, large or small letters alike."""

    def read(text: str) -> str:
        word = text.casefold()
        if word not in choices:
            raise CellError(f"not understood: write {' or '.join(choices)}")
        return word

    return read


def read_design_fields(text: str) -> dict[str, Any]:
    """A design as an entry carries it."""
    return design_fields(read_design(text))


def _fits(adapter: TypeAdapter[str], text: str) -> bool:
    try:
        adapter.validate_python(text)
    except ValidationError:
        return False
    return True
