"""How it looks what became of a fragment: a sign with a letter for each, so that colour never stands alone."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Final

from server.pages.conditions import look_of
from server.pages.wording import gettext, mark, mark_in, pgettext
from server.review.stock import STATES, State

__all__ = ["STATE_LOOKS", "StateLook"]


@dataclass(frozen=True, slots=True)
class StateLook:
    """A state's look. `path` is an SVG path in a 24 by 24 square."""

    key: State
    _letter: str
    _word: str
    fill: str
    ink: str
    path: str

    @property
    def letter(self) -> str:
        """Its letter, unique among the states."""
        return pgettext("state letter", self._letter)

    @property
    def word(self) -> str:
        """Its name."""
        return gettext(self._word)


def _looks() -> Mapping[State, StateLook]:
    alive, dead, lost = look_of("alive"), look_of("dead"), look_of("lost")
    return {
        "held": StateLook("held", mark_in("state letter", "N"), mark("in the nursery"), alive.fill, alive.ink, alive.path),
        "dead": StateLook("dead", mark_in("state letter", "D"), mark("dead"), dead.fill, dead.ink, dead.path),
        "lost": StateLook("lost", mark_in("state letter", "L"), mark("lost, not found"), lost.fill, lost.ink, lost.path),
        "outplanted": StateLook(
            "outplanted", mark_in("state letter", "R"), mark("on the reef"), "#8FE0A8", "#000000", "M12 1L23 9V23H1V9Z"
        ),
        "removed": StateLook("removed", mark_in("state letter", "T"), mark("taken out"), "#E4E0D8", "#000000", "M1 6H23V18H1Z"),
    }


STATE_LOOKS: Final[Mapping[State, StateLook]] = {state: _looks()[state] for state in STATES}
