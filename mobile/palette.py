"""How each condition is shown: a fill, a shape and a letter, so that colour never stands alone.

Any two fills are at least 24 apart (CAM02-UCS) to people who see no red, no green or no blue (Machado et al. 2009), and
the letter has a contrast of at least 7 on its fill; the test works both out. Letters belong to a language: they are in
its catalogue, in the context "condition letter".
"""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Final, TypeAlias

from mobile.shapes import ShapeName

__all__ = ["BLACK", "CONDITIONS", "NOT_LOOKED_AT", "WHITE", "Colour", "Condition", "blend", "colour"]

Colour: TypeAlias = tuple[float, float, float, float]
"""Red, green, blue and opacity, each from 0 to 1."""


def colour(text: str) -> Colour:
    """`#359BFA` -> its parts, opaque. Raises ValueError for anything else."""
    if len(text) != 7 or not text.startswith("#"):
        raise ValueError(f"{text!r} is no colour: write #RRGGBB")
    red, green, blue = (int(text[at : at + 2], 16) / 255 for at in (1, 3, 5))
    return red, green, blue, 1.0


def blend(one: Colour, other: Colour, share: float) -> Colour:
    """`share` (0 to 1) of one colour on the other, opaque."""
    red, green, blue = (share * a + (1 - share) * b for a, b in zip(one[:3], other[:3], strict=True))
    return red, green, blue, 1.0


BLACK: Final = colour("#000000")
WHITE: Final = colour("#FFFFFF")


@dataclass(frozen=True, slots=True)
class Condition:
    """How one status is shown.

    `word` is what its button says and `letter` its letter, both in English and to be translated. `fill` is None for what
    is only outlined.
    """

    status: str
    word: str
    letter: str
    shape: ShapeName
    fill: Colour | None
    letter_colour: Colour


def _(text: str) -> str:
    """Marks a text for the catalogues; it is translated where it is shown."""
    return text


def pgettext(_context: str, text: str) -> str:
    """Marks a text with a context for the catalogues."""
    return text


CONDITIONS: Final[Mapping[str, Condition]] = {
    one.status: one
    for one in (
        Condition("alive", _("alive"), pgettext("condition letter", "A"), "disc", colour("#359BFA"), BLACK),
        Condition("fading", _("fading"), pgettext("condition letter", "F"), "dome", colour("#FBE01B"), BLACK),
        Condition("bleached", _("bleached"), pgettext("condition letter", "B"), "diamond", colour("#D9F4FA"), BLACK),
        Condition("preyed_on", _("preyed on"), pgettext("condition letter", "P"), "bitten", colour("#D0862C"), BLACK),
        Condition("sick", _("sick"), pgettext("condition letter", "S"), "plus", colour("#A70E7B"), WHITE),
        Condition("dead", _("dead"), pgettext("condition letter", "D"), "hexagon", colour("#4C3102"), WHITE),
        Condition("lost", _("lost"), pgettext("condition letter", "L"), "pennant", colour("#010126"), WHITE),
        Condition("could_not_tell", _("can't tell"), pgettext("condition letter", "C"), "lozenge", colour("#979797"), BLACK),
    )
}
"""Every status of shared_schema.facts, in the order in which buttons show them."""

NOT_LOOKED_AT: Final = Condition("", _("not looked at"), "?", "dashes", None, colour("#0B1622"))
"""No status: nobody said anything. The ring and the question mark take the theme's outline colour."""
