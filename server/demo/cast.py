"""Who and what the invented nursery consists of. Every place, person and genet here is made up; the species are not."""

from dataclasses import dataclass
from typing import Final, Literal

from server.registry.design_words import read_design
from shared_schema.designs import Design

__all__ = [
    "GENETS",
    "NURSERY",
    "NURSERY_ID",
    "OFFICE_WRITER",
    "PEOPLE",
    "SITES",
    "STRUCTURES",
    "SUPERVISOR",
    "TABLETS",
    "Genet",
    "Hung",
    "Person",
]

NURSERY: Final = "Tessavo Lagoon (demo: all invented)"
NURSERY_ID: Final = "demo00"
OFFICE_WRITER: Final = "officedemo"
TABLETS: Final = {"h4kw7p": "Heron (demo)", "t9mb3c": "Tern (demo)", "p6xr2n": "Petrel (demo)"}
"""The tablets that brought the two years: writer id -> name."""
SITES: Final = ("Orsa-Ledge", "Vell-Flats")


@dataclass(frozen=True, slots=True)
class Person:
    """A diver, and how often, from 0 to 1, they miss a snail, take bleaching one step wrong, or cannot tell a coral."""

    name: str
    role: Literal["crew", "supervisor"]
    misses: float
    muddles: float
    overlooks: float


PEOPLE: Final = {
    "mirela": Person("Mirela Osanuy", "supervisor", 0.10, 0.05, 0.002),
    "teo": Person("Téo Varandel", "crew", 0.45, 0.22, 0.006),
    "ilka": Person("Ilka Brunnsø", "crew", 0.20, 0.10, 0.004),
    "dewi": Person("Dewi Larasvara", "crew", 0.15, 0.08, 0.003),
    "noor": Person("Noor Haviliq", "crew", 0.30, 0.30, 0.010),
    "rafi": Person("Rafi Tondurú", "crew", 0.35, 0.15, 0.008),
}
SUPERVISOR: Final = "mirela"


@dataclass(frozen=True, slots=True)
class Genet:
    """A genet: `growth` in mm of TLE a month; `heat`, `brittle` and `tasty` are its lot against the average one's, 1."""

    code: str
    species: str
    aphia_id: int | None
    donor: str
    growth: float
    heat: float
    brittle: float
    tasty: float


_STAGHORN: Final = "Acropora cervicornis"
_STAGHORN_ID: Final = 206989  # WoRMS
_ELKHORN: Final = "Acropora palmata"

GENETS: Final = {
    "Amrelo": Genet("AM", _STAGHORN, _STAGHORN_ID, "Kiln Ledge, north end", 31, 0.6, 1.0, 1.0),
    "Briskua": Genet("BR", _STAGHORN, _STAGHORN_ID, "Kiln Ledge, north end", 38, 1.5, 1.2, 0.9),
    "Calune": Genet("CA", _STAGHORN, _STAGHORN_ID, "Kiln Ledge, south end", 27, 0.9, 0.8, 1.1),
    "Dorvanti": Genet("DO", _STAGHORN, _STAGHORN_ID, "Orsa Ledge", 34, 1.1, 1.0, 1.6),
    "Eluskar": Genet("EL", _STAGHORN, _STAGHORN_ID, "Orsa Ledge", 29, 0.7, 0.9, 0.7),
    "Fenoway": Genet("FE", _STAGHORN, _STAGHORN_ID, "Orsa Ledge", 42, 1.7, 1.4, 1.0),
    "Giluma": Genet("GI", _STAGHORN, _STAGHORN_ID, "Vell Flats", 33, 1.0, 1.0, 1.2),
    "Havreli": Genet("HA", _STAGHORN, _STAGHORN_ID, "Vell Flats", 30, 0.8, 1.1, 0.8),
    "Iskanoe": Genet("IS", _STAGHORN, _STAGHORN_ID, "Vell Flats", 36, 1.3, 1.0, 1.0),
    "Jolimet": Genet("JO", _ELKHORN, None, "Samphire Gap", 18, 1.0, 0.6, 1.3),
    "Kethrim": Genet("KE", _ELKHORN, None, "Samphire Gap", 16, 0.8, 0.6, 1.0),
    "Lumekoa": Genet("LU", _STAGHORN, _STAGHORN_ID, "Samphire Gap", 35, 1.2, 1.2, 1.1),
    "Mbarisu": Genet("MB", _STAGHORN, _STAGHORN_ID, "Samphire Gap", 32, 0.5, 1.0, 0.9),
}


@dataclass(frozen=True, slots=True)
class Hung:
    """A structure: its design in words, depth, where it is, how much a storm reaches it, and which genets are on it."""

    words: str
    depth_cm: int
    location: str
    exposed: float
    genets: tuple[str, ...]

    @property
    def design(self) -> Design:
        """As parameters."""
        return read_design(self.words)


_ALL: Final = tuple(GENETS)

STRUCTURES: Final = {
    "T01": Hung("tree", 420, "north row", 0.4, ("Amrelo",)),
    "T02": Hung("tree", 430, "north row", 0.4, ("Briskua",)),
    "T03": Hung("tree", 450, "north row", 0.5, ("Calune", "Dorvanti")),
    "T04": Hung("tree", 460, "north row", 0.6, ("Dorvanti",)),
    "T05": Hung("tree", 480, "middle row", 0.9, ("Eluskar",)),
    "T06": Hung("tree", 480, "middle row", 0.8, ("Fenoway",)),
    "T07": Hung("tree", 470, "middle row", 0.7, ("Giluma", "Havreli")),
    "T08": Hung("tree", 490, "middle row", 1.0, ("Havreli",)),
    "T09": Hung("tree", 520, "seaward row", 1.3, ("Iskanoe",)),
    "T10": Hung("tree", 530, "seaward row", 1.5, ("Lumekoa",)),
    "T11": Hung("tree", 530, "seaward row", 1.4, ("Mbarisu",)),
    "T12": Hung("tree", 540, "seaward row", 1.6, ("Amrelo", "Mbarisu", "Eluskar")),
    "L1": Hung("line, 60 places every 150 mm", 380, "by the old mooring", 0.9, _ALL),
    "L2": Hung("line, 60 places every 150 mm", 390, "by the old mooring", 1.0, _ALL),
    "B1": Hung("table, 6 rows of 10 every 20 cm", 350, "behind the bar", 0.2, _ALL),
}
"""The table holds the founders, brood stock that is cut and never planted out."""
