"""What a diver says of a coral: mostly what is so."""

from random import Random
from typing import Any, Final

from server.demo.cast import PEOPLE
from server.demo.coral import Coral

__all__ = ["look"]

_STEP: Final = {"alive": ("fading",), "fading": ("alive", "bleached"), "bleached": ("fading",)}


def look(coral: Coral, diver: str, rng: Random, haste: float = 1.0) -> dict[str, Any]:
    """The facts that a diver states of a coral in its place; status alone where nothing struck them.

    `haste` times the usual share of errors are made.
    """
    person = PEOPLE[diver]
    status = coral.status
    if status == "lost":
        return {"status": status}
    if status == "dead":
        return {"status": "dead"}
    if rng.random() < person.overlooks * haste:
        return {"status": "lost" if rng.random() < 0.2 else "could_not_tell"}
    if status == "preyed_on" and rng.random() < person.misses * haste:
        status = "fading" if coral.pale >= 1 else "alive"
    if status in _STEP and coral.pale > 0.6 and rng.random() < person.muddles * haste:
        status = _STEP[status][int(rng.random() * len(_STEP[status]))]  # type: ignore[assignment]
    if status == "bleached" and coral.pale > 2.5 and rng.random() < 0.012:
        return {"status": "dead"}  # white to the last polyp, and taken for a bare skeleton
    if status == "alive" and not coral.broken and not coral.loose:
        return {"status": "alive"}
    return {"status": status, **_details(coral, status, rng)}


def _details(coral: Coral, status: str, rng: Random) -> dict[str, Any]:
    said: dict[str, Any] = {}
    if coral.tissue < 0.9 and rng.random() < 0.6:
        said["live_tissue"] = max(5, min(95, 5 * round(coral.tissue * 20 + rng.random() * 2 - 1)))
    if status in ("fading", "bleached"):
        said["bleaching"] = "pale" if status == "fading" else "full" if coral.pale > 2.5 else "partial"
    if status == "preyed_on":
        said["predator"] = "snail"
    if status == "sick":
        said["signs"] = ["tissue_loss"]
    if coral.broken:
        said["breakage"] = "branches" if coral.length > 250 else "tips"
    if coral.loose:
        said["tie"] = "loose"
    return said
