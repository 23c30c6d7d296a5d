"""When to look for a network by itself: soon at first, ever less often while there is none, never under a working finger."""

from collections.abc import Callable
from typing import Final

from mobile.preferences import Memory

__all__ = ["Lookout"]

_SOON_S: Final = 30.0
_SELDOM_S: Final = 300.0
_FIRST_S: Final = 15.0
_IDLE_S: Final = 20.0


class Lookout:
    """Decides when to knock at the server's door. `clock` gives seconds that only grow.

    While nobody answers it waits 15 s, then twice as long each time, five minutes at most; after an answer five minutes, or
    half a minute where something waits to be sent. It waits until nobody has touched the screen for 20 s: reading in what
    comes must not make a tap wait. `unanswered` is how often nobody answered in a row; a start counts as once.
    """

    def __init__(self, memory: Memory, clock: Callable[[], float]) -> None:
        self._memory, self._clock = memory, clock
        self._last = clock()
        self.unanswered = 1

    @property
    def on(self) -> bool:
        """Whether it looks at all; it does, until somebody switches it off."""
        return self._memory.get("by_itself") is not False

    def switch(self, *, on: bool) -> None:
        """Let it look, or not."""
        self._memory.put(by_itself=on)

    def due(self, touched: float, *, waiting: bool) -> bool:
        """Whether to knock now; `touched` is when the screen was last touched, `waiting` whether anything is to be sent."""
        now = self._clock()
        return self.on and now - touched >= _IDLE_S and now - self._last >= self._gap(waiting)

    def heard(self, *, answered: bool) -> None:
        """Somebody knocked, or synced, and the server answered or not."""
        self._last = self._clock()
        self.unanswered = 0 if answered else self.unanswered + 1

    def _gap(self, waiting: bool) -> float:
        if self.unanswered:
            return min(_SELDOM_S, _FIRST_S * 2.0 ** (self.unanswered - 1))
        return _SOON_S if waiting else _SELDOM_S
