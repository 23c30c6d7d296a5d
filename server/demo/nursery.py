"""The invented nursery as it stands at some moment of its two years: its corals, and who writes about them."""

from collections.abc import Iterator
from dataclasses import dataclass, field
from random import Random

from server.demo.calendar import Month
from server.demo.cast import GENETS, OFFICE_WRITER, PEOPLE, STRUCTURES, TABLETS
from server.demo.coral import Coral, live_a_month
from server.demo.pen import Pen
from shared_schema.designs import Design
from shared_schema.ids import tag_code

__all__ = ["Nursery", "Said"]


@dataclass(frozen=True, slots=True)
class Said:
    """A status that somebody stated of a coral in the survey that is under way."""

    entry: str
    by: str
    status: str


@dataclass(slots=True)
class Nursery:
    """`said` is of the survey under way; `hung` are the structures in the water; `slips` what was mistyped already."""

    rng: Random
    pens: dict[str, Pen] = field(default_factory=lambda: {writer: Pen(writer) for writer in (*TABLETS, OFFICE_WRITER)})
    corals: dict[str, Coral] = field(default_factory=dict)
    said: dict[str, list[Said]] = field(default_factory=dict)
    hung: list[str] = field(default_factory=list)
    designs: dict[str, Design] = field(default_factory=lambda: {name: one.design for name, one in STRUCTURES.items()})
    slips: set[str] = field(default_factory=set)
    _named: dict[str, int] = field(default_factory=dict)
    _tags: int = 0

    @property
    def office(self) -> Pen:
        """The office's pen."""
        return self.pens[OFFICE_WRITER]

    def chance(self, share: float) -> bool:
        """True in that share of all calls."""
        return self.rng.random() < share

    def slip(self, what: str, now: bool) -> bool:
        """Whether a mistake that is made once in two years is made now."""
        if not now or what in self.slips:
            return False
        self.slips.add(what)
        return True

    def below(self, count: int) -> int:
        """A number from 0 to `count` - 1."""
        return int(self.rng.random() * count)

    def new_name(self, genet: str) -> str:
        """The next name of a fragment of this genet."""
        self._named[genet] = self._named.get(genet, 0) + 1
        return f"{GENETS[genet].code}-{self._named[genet]:04}"

    def new_tag(self) -> str:
        """The next tag on the roll."""
        self._tags += 1
        return tag_code(self._tags)

    def hang(self, coral: Coral) -> Coral:
        """Add a coral."""
        self.corals[coral.name] = coral
        return coral

    def by_page(self, structure: str) -> Iterator[tuple[str, list[Coral]]]:
        """(page, the corals that somebody would look for there, in reading order)."""
        order = {position.path: position.order for position in self.designs[structure].positions}
        here = [coral for coral in self.corals.values() if coral.structure == structure and not coral.closed]
        here.sort(key=lambda coral: (order[coral.place.partition("/")[2]], coral.name))
        pages = [coral.place.partition("/")[2].partition(".")[0] for coral in here]
        for page in self.designs[structure].pages:
            yield page.path, [coral for coral, on in zip(here, pages, strict=True) if on == page.path]

    def free(self, structure: str) -> list[str]:
        """The positions of a structure where nothing hangs, in reading order."""
        held = {coral.place for coral in self.corals.values() if coral.structure == structure and not coral.closed}
        places = (f"{structure}/{position.path}" for position in self.designs[structure].positions)
        return [place for place in places if place not in held]

    def diver(self, turn: int) -> str:
        """Whose turn it is."""
        names = list(PEOPLE)
        return names[turn % len(names)]

    def tablet(self, turn: int) -> Pen:
        """Which tablet's turn it is."""
        writers = list(TABLETS)
        return self.pens[writers[turn % len(writers)]]

    def pass_month(self, month: Month) -> None:
        """Forget what was said, and let a month happen to every coral."""
        self.said.clear()
        for coral in self.corals.values():
            live_a_month(coral, month, self.rng)
