"""Corals as they really are, month by month; divers see some of it (see divers.py)."""

from dataclasses import dataclass, field
from random import Random

from server.demo.calendar import Month
from server.demo.cast import GENETS, STRUCTURES, Genet
from shared_schema.facts import Status
from shared_schema.ids import structure_of_place

__all__ = ["Coral", "live_a_month"]

_SNAILS_ON = frozenset({"T03", "T04", "L1"})


@dataclass(slots=True)
class Coral:
    """One fragment. `pale`: 0 none to 3 white; `tissue`: the share alive; lengths in mm of TLE.

    `missing`: it came off and is not in its place; `found`: somebody will come across it on the sand. `closed`: the record
    holds it for lost or gone, so nobody looks for it any more.
    """

    name: str
    genet_name: str
    parent: str | None
    place: str
    length: float
    tag: str | None = None
    tissue: float = 1.0
    pale: float = 0.0
    snail: bool = False
    sick: bool = False
    broken: bool = False
    loose: bool = False
    missing: bool = False
    found: bool = False
    closed: bool = False
    structure: str | None = field(init=False)
    """What it hangs on, None elsewhere."""

    def __post_init__(self) -> None:
        self.put(self.place)

    def put(self, place: str) -> None:
        """It is somewhere else now."""
        self.place, self.structure = place, structure_of_place(place)

    @property
    def genet(self) -> Genet:
        """Its traits."""
        return GENETS[self.genet_name]

    @property
    def living(self) -> bool:
        """Whether it hangs and lives."""
        return not self.missing and not self.closed and self.tissue > 0 and self.structure is not None

    @property
    def status(self) -> Status:
        """What a diver who makes no mistake would say."""
        if self.missing:
            return "lost"
        if self.tissue <= 0:
            return "dead"
        if self.sick:
            return "sick"
        if self.snail:
            return "preyed_on"
        if self.pale >= 2:
            return "bleached"
        return "fading" if self.pale >= 1 else "alive"


def live_a_month(coral: Coral, month: Month, rng: Random) -> None:
    """Let a month happen to a coral that hangs."""
    if not coral.living:
        return
    if coral.pale < 1:
        coral.length += coral.genet.growth * coral.tissue * (0.7 + 0.6 * rng.random())
    _heat(coral, month, rng)
    _snails(coral, month, rng)
    _ills(coral, month, rng)
    _storm(coral, month, rng)
    coral.tissue = 0.0 if coral.tissue < 0.06 else coral.tissue


def _heat(coral: Coral, month: Month, rng: Random) -> None:
    stress = month.heat * coral.genet.heat * (0.6 + 0.8 * rng.random())
    coral.pale = min(3.0, stress / 2.6) if stress else max(0.0, coral.pale - 1.2)
    if coral.pale >= 2.4 and rng.random() < 0.14 * coral.genet.heat:
        coral.tissue = 0.0
    elif coral.pale >= 2 and rng.random() < 0.25:
        coral.tissue *= 0.5 + 0.4 * rng.random()


def _snails(coral: Coral, month: Month, rng: Random) -> None:
    if coral.snail:
        coral.tissue *= 0.65 + 0.25 * rng.random()
    else:
        outbreak = month.snails if coral.structure in _SNAILS_ON else 0.0
        coral.snail = rng.random() < (outbreak + 0.0012) * coral.genet.tasty


def _ills(coral: Coral, month: Month, rng: Random) -> None:
    if coral.sick:
        coral.tissue *= 0.4 + 0.5 * rng.random()
        coral.sick = rng.random() < 0.5
    elif rng.random() < 0.0015:
        coral.sick = True
    if rng.random() < (0.02 if month.after_storm and coral.broken else 0.0015):
        coral.tissue = 0.0
    if coral.loose and rng.random() < 0.3:
        coral.missing = True
    coral.loose = coral.loose or rng.random() < 0.006


def _storm(coral: Coral, month: Month, rng: Random) -> None:
    if not month.storm:
        coral.broken = coral.broken and rng.random() < 0.6
        return
    reached = STRUCTURES[coral.structure or ""].exposed * coral.genet.brittle
    if rng.random() < 0.07 * reached:
        coral.missing = True
        coral.found = rng.random() < 0.35
    elif rng.random() < 0.20 * reached:
        coral.broken = True
        coral.length *= 0.5 + 0.4 * rng.random()
