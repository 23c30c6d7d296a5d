"""Lengths and angles that stay exact: digits on the wire, Decimal in the program, never binary floats."""

import re
from decimal import Decimal
from typing import Annotated, Final, Literal, TypeAlias

from pydantic import BeforeValidator, Field, PlainSerializer

__all__ = ["Degrees", "Length", "Offset", "Unit", "to_mm"]

Unit: TypeAlias = Literal["mm", "cm", "m", "in", "ft"]

_MM: Final[dict[Unit, Decimal]] = {
    "mm": Decimal(1),
    "cm": Decimal(10),
    "m": Decimal(1000),
    "in": Decimal("25.4"),
    "ft": Decimal("304.8"),
}
_DIGITS: Final = re.compile(r"([0-9]{1,6})(?:\.([0-9]{1,5}))?")


def _exact(value: object) -> Decimal:
    """Digits as text, a whole number or a Decimal -> the Decimal without trailing zeros, so that 7.0 is written 7."""
    text = format(value, "f") if isinstance(value, Decimal) else str(value)
    match = _DIGITS.fullmatch(text) if isinstance(value, Decimal | int | str) else None
    if match is None:
        raise ValueError(
            'no exact number (a binary float is none): write digits as text, as "7" or "0.5", '
            "with at most 6 before and 5 after the point"
        )
    rest = (match[2] or "").rstrip("0")
    return Decimal(f"{match[1]}.{rest}" if rest else match[1])


def _digits(value: Decimal) -> str:
    return format(value, "f")


_Exact = Annotated[Decimal, BeforeValidator(_exact), PlainSerializer(_digits, return_type=str, when_used="json")]

Length = Annotated[_Exact, Field(gt=0)]
"""A length above zero in the design's unit."""
Offset = Annotated[_Exact, Field(ge=0)]
"""A length that may be zero, in the design's unit."""
Degrees = Annotated[_Exact, Field(ge=0, lt=360)]
"""An angle in degrees, clockwise seen from above."""


def to_mm(length: Decimal, unit: Unit) -> Decimal:
    """A length in millimetres, exactly: 7 in -> 177.8 (1 in = 25.4 mm by definition)."""
    return length * _MM[unit]
