"""Practice slates: what a diver might have handed up, what it means, and how well it was entered.

Nothing of it touches the store: a practice slate is entered on a desk in memory, and its score is forgotten with the program.
The marks are those that people make on slates anyway, with the traps that cost records: a letter that was crossed out, one
that is smudged, strokes for "the same again", a line that goes on, and places where nothing is written.
"""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Final, Literal, TypeAlias

from mobile.desk import UNSEEN, PracticeDesk
from shared_schema.designs import Design, Page, parse_design

__all__ = ["SLATES", "Hand", "Miss", "Score", "Slate", "Why", "Written", "score_slate"]

Hand: TypeAlias = Literal["plain", "ditto", "line", "smudged"]
"""How a mark is written: as it is; as strokes for the same as before; as a line that goes on; or smudged, with its meaning
in the margin."""

Why: TypeAlias = Literal["blank", "crossed", "ditto", "line", "smudged", "ticked", "looked", "written"]
"""What was overlooked: nothing is written there; a mark was crossed out; ... ; a tick, not a condition; something is written,
so somebody looked; a plain letter."""


@dataclass(frozen=True, slots=True)
class Written:
    """What is written at a place: it means `status`, after `crossed` was written first and crossed out."""

    status: str
    crossed: str = ""
    hand: Hand = "plain"


_TICK: Final = Written("alive")


@dataclass(frozen=True, slots=True)
class Slate:
    """A practice slate of one page: `marks` by path where it is not a tick; `bare` are places where nothing hangs."""

    key: str
    structure: str
    design: Design
    marks: Mapping[str, Written]
    bare: frozenset[str] = frozenset()

    @property
    def page(self) -> Page:
        """The page that the slate is of."""
        return self.design.pages[0]

    @property
    def margin(self) -> tuple[tuple[str, str], ...]:
        """What the diver wrote beside: (place as the slate calls it, status)."""
        return tuple((self.place(path), mark.status) for path, mark in self.marks.items() if mark.hand == "smudged")

    @property
    def places(self) -> tuple[str, ...]:
        """The paths of all places where something hangs, in reading order."""
        return tuple(each.path for each in self.page.positions if each.path not in self.bare)

    def at(self, path: str) -> Written:
        """What is written at a place; UNSEEN where nothing is."""
        return self.marks.get(path, _TICK)

    def place(self, path: str) -> str:
        """A place as the slate calls it: `3.5` on arm 3, or `7`."""
        return path.partition(".")[2]

    def desk(self) -> PracticeDesk:
        """A desk to enter it on: in memory, and gone with it."""
        return PracticeDesk(self.structure, self.design, bare=self.bare)


@dataclass(frozen=True, slots=True)
class Miss:
    """A place that was entered otherwise than it is written. `wanted` and `given` are statuses or UNSEEN."""

    path: str
    wanted: str
    given: str
    why: Why


@dataclass(frozen=True, slots=True)
class Score:
    """How a slate was entered: how many of its places are right, what is not, and how long it took."""

    right: int
    places: int
    misses: tuple[Miss, ...]
    seconds: float


def score_slate(slate: Slate, entered: Mapping[str, str], seconds: float) -> Score:
    """Compare, place by place, what was entered or vouched for with what is written."""
    misses = tuple(_misses(slate, entered))
    return Score(len(slate.places) - len(misses), len(slate.places), misses, seconds)


def _misses(slate: Slate, entered: Mapping[str, str]) -> Iterator[Miss]:
    for path in slate.places:
        mark, given = slate.at(path), entered.get(path, UNSEEN)
        if given != mark.status:
            yield Miss(path, mark.status, given, _why(mark, given))


def _why(mark: Written, given: str) -> Why:
    if mark.status == UNSEEN:
        return "blank"
    if mark.hand != "plain":
        return mark.hand
    if mark.crossed and given == mark.crossed:
        return "crossed"
    if given == UNSEEN:
        return "looked"
    return "ticked" if mark.status == "alive" else "written"


def _blank(*paths: str) -> dict[str, Written]:
    return dict.fromkeys(paths, Written(UNSEEN))


def _on(hand: Hand, status: str, *paths: str) -> dict[str, Written]:
    return {path: Written(status, hand=hand) for path in paths}


SLATES: Final = (
    Slate(
        "tree",
        "P1",
        parse_design({"design": "tree", "levels": 1}),
        {
            "1.1.2": Written("bleached"),
            "1.1.4": Written("preyed_on"),
            "1.2.3": Written("fading", crossed="bleached"),
            "1.2.5": Written("alive", crossed="dead"),
            "1.3.1": Written("lost"),
            **_on("smudged", "fading", "1.3.4"),
            **_blank("1.4.4", "1.4.5"),
        },
    ),
    Slate(
        "line",
        "P2",
        parse_design({"design": "line", "unit": "m", "length": "4.5", "spacing": "0.5", "per_stretch": 10}),
        {
            "1.2": Written("sick"),
            "1.4": Written("bleached"),
            **_on("ditto", "bleached", "1.5", "1.6"),
            "1.8": Written("could_not_tell"),
            "1.9": Written("alive", crossed="lost"),
            **_blank("1.10"),
        },
    ),
    Slate(
        "table",
        "P3",
        parse_design({"design": "table", "unit": "cm", "rows": 1, "columns": 12, "spacing": "10"}),
        {
            "1.1": Written("fading"),
            "1.4": Written("dead", crossed="sick"),
            **_blank("1.6"),
            "1.7": Written("preyed_on"),
            **_on("line", "preyed_on", "1.8", "1.9", "1.10"),
            **_on("smudged", "bleached", "1.12"),
        },
        frozenset({"1.3"}),
    ),
)
"""A level of a tree, a stretch of a line, a row of a table: the three sorts of page."""
