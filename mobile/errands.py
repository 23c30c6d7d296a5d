"""Errands: work that may take long, done in a thread with a store of its own, so that the screen never waits for it."""

import threading
from collections.abc import Callable
from contextlib import closing
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING, Final, Generic, TypeAlias, TypeVar

from mobile.store import Store
from shared_schema.errors import CrosstreeError

# The way to the server is loaded with the first errand, in its thread: it would take a good part of each start.
if TYPE_CHECKING:
    import httpx

    from mobile.sync import Progress, Sync

__all__ = ["Ended", "Errand", "Errands", "Tell", "new_client"]

Result = TypeVar("Result")

Tell: TypeAlias = Callable[[Callable[[], None]], object]
"""Has something called later, in the thread of the screen."""

_PATIENCE_S: Final = 20.0


class _CalledBack(BaseException):
    """Somebody called the errand back. Not an Exception, so that nothing on the way takes it for trouble of its own."""


@dataclass(frozen=True, slots=True)
class Ended(Generic[Result]):
    """How an errand ended: with a `result`, with `trouble`, or, where both are None, because it was called back."""

    result: Result | None = None
    trouble: CrosstreeError | None = None


def new_client() -> "httpx.Client":
    """A client for one errand."""
    import httpx  # noqa: PLC0415  # see above

    return httpx.Client(timeout=_PATIENCE_S)


class Errand:
    """What the work of an errand is given: a `store`, and `sync` to reach the server with. Both are of its thread alone."""

    def __init__(
        self,
        store: Store,
        clients: "Callable[[], httpx.Client]",
        clock: Callable[[], datetime],
        heard: "Callable[[Progress], None]",
        back: threading.Event,
    ) -> None:
        self.store, self.clock = store, clock
        self._clients, self._heard, self._back = clients, heard, back
        self._client: httpx.Client | None = None

    def sync(self, tries: int = 6) -> "Sync":
        """The tablet's sync, giving up after so many tries."""
        from mobile.sync import Sync  # noqa: PLC0415  # see above

        if self._client is None:
            self._client = self._clients()
        return Sync(self.store, self._client, self.clock, self._sleep, self.hear, tries=tries)

    def close(self) -> None:
        """Hang up."""
        if self._client is not None:
            self._client.close()

    def hear(self, progress: "Progress") -> None:
        """Tell how far it is; the work ends here where it was called back: between two steps nothing is half done."""
        self.check()
        self._heard(progress)

    def check(self) -> None:
        """The work ends here where it was called back."""
        if self._back.is_set():
            raise _CalledBack

    def _sleep(self, seconds: float) -> None:
        if self._back.wait(seconds):
            raise _CalledBack


class Errands:
    """One errand at a time, on the database at `path`. `tell` brings what it says back to the thread of the screen."""

    def __init__(
        self,
        path: Path,
        tell: Tell,
        clock: Callable[[], datetime],
        client: "Callable[[], httpx.Client]" = new_client,
    ) -> None:
        self._path, self._tell, self._clock, self._client = path, tell, clock, client
        self._thread: threading.Thread | None = None
        self._back = threading.Event()
        self._quiet = False
        self._next: Callable[[], object] | None = None

    @property
    def busy(self) -> bool:
        """Whether one is under way, or its end was not told yet."""
        return self._thread is not None

    def start(
        self,
        work: Callable[[Errand], Result],
        ended: Callable[[Ended[Result]], None],
        heard: "Callable[[Progress], None]" = lambda _: None,
        *,
        quiet: bool = False,
    ) -> bool:
        """Send one off, and have its end told to `ended`; False where another is under way.

        A `quiet` one, which nobody asked for, is called back for one that somebody did ask for, which then goes next.
        An error that is none of ours is raised in the thread of the screen: it is a mistake of the program, and must show.
        """
        if self.busy:
            if quiet or not self._quiet or self._next is not None:
                return False
            self._next = lambda: self.start(work, ended, heard)
            self.call_back()
            return True
        self._quiet = quiet
        back = self._back = threading.Event()

        def tell(call: Callable[[], None]) -> None:
            self._tell(lambda: call() if self._back is back else None)

        def tell_end(end: Ended[Result]) -> None:
            self._thread = None
            ended(end)
            follows, self._next = self._next, None
            if follows is not None:
                follows()

        def run() -> None:
            try:
                with Store(self._path, check=False) as store:
                    errand = Errand(store, self._client, self._clock, lambda progress: tell(lambda: heard(progress)), back)
                    with closing(errand):
                        end = Ended(work(errand))
            except _CalledBack:
                end = Ended()
            except CrosstreeError as error:
                end = Ended(trouble=error)
            except Exception as error:  # noqa: BLE001  # raised again, where it is seen
                mistake = error
                tell(lambda: _raise(mistake))
                return
            tell(lambda: tell_end(end))

        self._thread = threading.Thread(target=run, name="errand", daemon=True)
        self._thread.start()
        return True

    def call_back(self) -> None:
        """Let the one that is under way end at its next step; its end is told as ever."""
        self._back.set()

    def close(self, patience_s: float = 2.0) -> None:
        """Call it back, and let it tell nothing more. What it had on disk is whole, however it ends."""
        thread, self._thread, self._next = self._thread, None, None
        self._back.set()
        self._back = threading.Event()
        if thread is not None:
            thread.join(patience_s)


def _raise(error: Exception) -> None:
    raise error
