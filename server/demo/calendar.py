"""Two years, month by month: what the sea does and what the crew plans to do."""

from dataclasses import dataclass
from typing import Final

__all__ = ["LAST", "MONTHS", "NEWEST", "Month", "days_of"]


@dataclass(frozen=True, slots=True)
class Month:
    """One month. `heat`: stress in °C-weeks; `snails`: the chance of an outbreak's structures; the rest is what happens."""

    survey: str
    heat: float = 0.0
    snails: float = 0.0
    storm: bool = False
    after_storm: bool = False
    restock: bool = False
    outplant: int = 0


_EVENTS: Final = {
    month.survey: month
    for month in (
        Month("2025-04", restock=True),
        Month("2025-05", snails=0.25),
        Month("2025-06", snails=0.18, outplant=60),
        Month("2025-07", snails=0.06),
        Month("2025-09", storm=True),
        Month("2025-11", after_storm=True),
        Month("2025-12", restock=True),
        Month("2026-04", restock=True),
        Month("2026-05", outplant=70),
        Month("2026-07", heat=1.4),
        Month("2026-08", heat=3.2),
        Month("2026-09", heat=4.6),
        Month("2026-10", heat=2.8),
    )
}


def _months() -> tuple[Month, ...]:
    names = [f"{year}-{month:02}" for year in (2024, 2025, 2026) for month in range(1, 13)]
    return tuple(_EVENTS.get(name) or Month(name) for name in names if "2024-12" <= name <= "2026-10")


MONTHS: Final = _months()
LAST: Final = MONTHS[-1].survey
NEWEST: Final = Month("2026-11", heat=1.5)
"""The month whose survey is planned and not begun: the two tablets of the demo begin it."""


def days_of(survey: str) -> tuple[str, str]:
    """When a survey opens and closes: it takes ten days."""
    return f"{survey}-06", f"{survey}-16"
