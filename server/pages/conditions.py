"""How each condition looks: a fill, a shape and a letter, so that colour never stands alone.

Fills and letters keep at least 24 (CAM02-UCS) between any two under simulated colour blindness, and the letter 7:1 on its
fill; the shapes tell them apart in grey. A square of 24 by 24 holds each shape.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from server.pages.wording import gettext, mark, mark_in, pgettext

__all__ = ["LOOKS", "UNSEEN", "Look", "look_of"]


@dataclass(frozen=True, slots=True)
class Look:
    """A condition's look. `key` is the status, "unseen" where nobody looked; `path` an SVG path in a 24 by 24 square.

    `bar` is the fill in bars, where a dashed ring would not show; hatching keeps it from the other grey. `rise` moves
    the letter up or down in its shape.
    """

    key: str
    _letter: str
    _word: str
    fill: str
    ink: str
    path: str
    bar: str
    rise: float = 0.0
    dashed: bool = False

    @property
    def letter(self) -> str:
        """Its letter; unique in each language."""
        return self._letter if self._letter == "?" else pgettext("condition letter", self._letter)

    @property
    def word(self) -> str:
        """Its name."""
        return gettext(self._word)


def _disc(radius: float) -> str:
    return f"M{12 - radius} 12a{radius} {radius} 0 1 0 {2 * radius} 0a{radius} {radius} 0 1 0 -{2 * radius} 0Z"


_BLACK, _WHITE = "#000000", "#FFFFFF"


def _look(  # a row of a table
    key: str, letter: str, word: str, fill: str, ink: str, path: str, rise: float = 0.0
) -> Look:
    return Look(key, letter, word, fill, ink, path, fill, rise)


LOOKS: Final[Sequence[Look]] = (
    _look("alive", mark_in("condition letter", "A"), mark("alive"), "#359BFA", _BLACK, _disc(10.5)),
    _look(
        "fading", mark_in("condition letter", "F"), mark("fading"), "#FBE01B", _BLACK, "M1.5 21V12.5a10.5 10.5 0 0 1 21 0V21Z", 0.8
    ),
    _look("bleached", mark_in("condition letter", "B"), mark("bleached"), "#D9F4FA", _BLACK, "M12 0L24 12L12 24L0 12Z"),
    _look(
        "preyed_on",
        mark_in("condition letter", "P"),
        mark("preyed on"),
        "#D0862C",
        _BLACK,
        "M2 2H14.5a7.5 7.5 0 0 0 7.5 7.5V22H2Z",
        0.8,
    ),
    _look(
        "sick",
        mark_in("condition letter", "S"),
        mark("sick"),
        "#A70E7B",
        _WHITE,
        "M6.5 1H17.5V6.5H23V17.5H17.5V23H6.5V17.5H1V6.5H6.5Z",
    ),
    _look("dead", mark_in("condition letter", "D"), mark("dead in place"), "#4C3102", _WHITE, "M6 1.6H18L24 12L18 22.4H6L0 12Z"),
    _look("lost", mark_in("condition letter", "L"), mark("lost"), "#010126", _WHITE, "M0 2H24L12 23.5Z", -3.2),
    _look(
        "could_not_tell",
        mark_in("condition letter", "C"),
        mark("could not tell"),
        "#979797",
        _BLACK,
        "M7 4.5H17a7.5 7.5 0 0 1 0 15H7a7.5 7.5 0 0 1 0-15Z",
    ),
)
"""In the order in which counts are listed."""

UNSEEN: Final = Look("unseen", "?", mark("not looked at"), "none", "#0B1622", _disc(10.5), "url(#hatch)", dashed=True)

_BY_KEY: Final = {look.key: look for look in (*LOOKS, UNSEEN)}


def look_of(status: str | None) -> Look:
    """The look of a status; None is not looked at."""
    return UNSEEN if status is None else _BY_KEY[status]
