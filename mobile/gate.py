"""Lets one finger through at a time, and drops the second of two taps that a wet finger made of one."""

from collections.abc import Callable, Hashable
from dataclasses import dataclass, field
from typing import Final

__all__ = ["REPEAT_S", "TouchGate"]

REPEAT_S: Final = 0.25
"""A tap this soon after another, at the same spot, is the same tap."""
_STUCK_S: Final = 5.0


@dataclass(slots=True)
class TouchGate:
    """Decides of each touch whether it counts.

    `clock` gives seconds that only grow; `same_spot` is the distance in pixels within which two taps may be one. It goes by
    place and not by what is there, since the first tap may have brought another page under the finger.
    """

    clock: Callable[[], float]
    same_spot: float
    _holder: Hashable = None
    _since: float = 0.0
    _last: tuple[float, float, float] | None = field(default=None)

    def enter(self, touch: Hashable, x: float, y: float) -> bool:
        """A finger came down: whether it counts. A touch whose end never came is forgotten after five seconds."""
        now = self.clock()
        if self._holder is not None and now - self._since < _STUCK_S:
            return False
        if self._last is not None:
            last_x, last_y, when = self._last
            near = (x - last_x) ** 2 + (y - last_y) ** 2 <= self.same_spot**2
            if near and now - when < REPEAT_S:
                return False
        self._holder, self._since = touch, now
        return True

    def holds(self, touch: Hashable) -> bool:
        """Whether this is the touch that counts now."""
        return self._holder is not None and self._holder == touch

    @property
    def held(self) -> bool:
        """Whether a finger is down."""
        return self._holder is not None

    def leave(self, touch: Hashable, x: float, y: float) -> None:
        """The finger went up."""
        if self.holds(touch):
            self._holder, self._last = None, (x, y, self.clock())
