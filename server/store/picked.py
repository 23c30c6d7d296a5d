"""Conditions that pick few of many findings. Partial indexes are on them: a query must write them the same way, to a letter.

They look into the JSON as text: a quote within a text of somebody's is escaped there, so nothing that people write matches.
"""

from typing import Final

from sqlalchemy import ColumnElement, literal_column
from sqlalchemy.orm import Mapped

__all__ = ["GONE", "PLACED", "SAYS_GONE", "SAYS_PLACE", "SAYS_SIZE", "SIZED", "says_place"]

GONE: Final = "finding.status IN ('dead', 'lost')"
"""Found dead in place, or not found."""
PLACED: Final = """finding.slots LIKE '%"place":[%'"""
"""Said where it was put."""
SIZED: Final = """finding.slots LIKE '%"length_mm":[%' OR finding.slots LIKE '%"tle_mm":[%'"""
"""Said how long it is."""


def _says(condition: str) -> ColumnElement[bool]:
    return literal_column(f"({condition})")


SAYS_GONE: Final = _says(GONE)
SAYS_PLACE: Final = _says(PLACED)
SAYS_SIZE: Final = _says(SIZED)


def says_place(slots: Mapped[str]) -> ColumnElement[bool]:
    """Whether a finding that was looked up by its key says where something was put."""
    return slots.contains('"place":[', autoescape=True)
