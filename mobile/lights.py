"""The readiness lights: what a look at the tablet means for leaving the harbour."""

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Final, Literal, TypeAlias

from mobile.battery import Battery
from mobile.chart import design_of
from mobile.readiness import ENOUGH_BYTES, SMALL_OFFSET_S, Readiness, check_readiness
from mobile.store import Store

__all__ = ["LightSort", "LightState", "ReadinessLight", "light_up", "worst"]

LightSort: TypeAlias = Literal["maps", "clock", "storage", "battery", "program"]
LightState: TypeAlias = Literal["good", "look", "stop"]

_HALF: Final = 50
_LOW: Final = 20
"""Percent. Common practice: a day's work wants more than half; below a fifth a tablet may not last a dive."""


@dataclass(frozen=True, slots=True)
class ReadinessLight:
    """`figure` is what the light is about: structures loaded, seconds the clock is ahead, free MB, percent; None if not told.

    `bare` are structures whose design nobody knows; `charging` says that the battery is being filled.
    """

    sort: LightSort
    state: LightState
    figure: int | None = None
    bare: tuple[str, ...] = ()
    charging: bool = False


def light_up(store: Store, survey: str, battery: Battery | None, free_bytes: int | None = None) -> tuple[ReadinessLight, ...]:
    """The lights for maps, clock, storage and battery always, that for the program where it is too old.

    `free_bytes` is asked of the disk unless given.
    """
    return tuple(_lights(store, check_readiness(store, survey, free_bytes), battery))


def worst(lights: tuple[ReadinessLight, ...]) -> LightState:
    """The state of all of them together; nothing looked at is nothing known."""
    states = {light.state for light in lights}
    return "stop" if "stop" in states else "look" if "look" in states or not states else "good"


def _lights(store: Store, found: Readiness, battery: Battery | None) -> Iterator[ReadinessLight]:
    bare = tuple(name for name in found.structures if design_of(store.standing(f"structure:{name}")) is None)
    maps: LightState = "good" if found.complete else "look" if found.hash_right else "stop"
    yield ReadinessLight("maps", maps, len(found.structures), bare)
    off = found.clock_off_s
    yield ReadinessLight("clock", "good" if off is not None and abs(off) <= SMALL_OFFSET_S else "look", off)
    yield ReadinessLight("storage", "good" if found.free_bytes >= ENOUGH_BYTES else "stop", found.free_bytes // 1_000_000)
    if battery is None:
        yield ReadinessLight("battery", "look")
    else:
        yield ReadinessLight("battery", _filled(battery), battery.percent, charging=battery.charging)
    if any(todo.sort == "update_program" for todo in found.todo):
        yield ReadinessLight("program", "stop")


def _filled(battery: Battery) -> LightState:
    if battery.percent >= _HALF:
        return "good"
    return "look" if battery.percent >= _LOW else "stop"
