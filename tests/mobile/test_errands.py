"""Long work in a thread of its own: told where the screen is, one at a time, called back, and never lost."""

import threading
from collections.abc import Callable, Iterator
from pathlib import Path
from queue import Queue

import pytest

from mobile.errands import Ended, Errand, Errands
from mobile.sync import Progress
from shared_schema.errors import NothingSuch
from tests.mobile.nursery import Ticking, tablet


class Screen:
    """The thread of the screen: calls are told to it, and made when a test says so."""

    def __init__(self) -> None:
        self._calls: Queue[Callable[[], None]] = Queue()

    def tell(self, call: Callable[[], None]) -> None:
        """Have something called later."""
        self._calls.put(call)

    def hear(self) -> None:
        """Make the next call."""
        self._calls.get(timeout=20)()


@pytest.fixture
def told(tmp_path: Path) -> Iterator[tuple[Screen, Errands]]:
    """Errands on a tablet."""
    path = tmp_path / "a.sqlite"
    with tablet(path):
        screen = Screen()
        errands = Errands(path, screen.tell, Ticking())
        yield screen, errands
        errands.close()


def test_work_is_done_elsewhere_and_told_here(told: tuple[Screen, Errands]) -> None:
    """In another thread, on a store of its own; progress and end come in order."""
    screen, errands = told
    heard: list[object] = []
    here = threading.get_ident()

    def work(errand: Errand) -> bool:
        errand.hear(Progress("pack", 1, 2))
        return threading.get_ident() != here and errand.store.identities.current is not None

    assert errands.start(work, heard.append, heard.append)
    assert errands.busy
    screen.hear()
    screen.hear()
    assert heard == [Progress("pack", 1, 2), Ended(result=True)]
    assert not errands.busy


def test_trouble_is_told_and_a_mistake_is_raised(told: tuple[Screen, Errands]) -> None:
    """Trouble of ours comes as an end; anything else is a fault of the program, and shows."""
    screen, errands = told
    ends: list[Ended[None]] = []

    def refused(_errand: Errand) -> None:
        raise NothingSuch("gone")

    def mistaken(_errand: Errand) -> None:
        raise ZeroDivisionError

    errands.start(refused, ends.append)
    screen.hear()
    assert isinstance(ends[0].trouble, NothingSuch)
    errands.start(mistaken, ends.append)
    with pytest.raises(ZeroDivisionError):
        screen.hear()


def test_one_that_is_called_back_ends_at_its_next_step(told: tuple[Screen, Errands]) -> None:
    """And says so, with neither a result nor trouble."""
    screen, errands = told
    ends: list[Ended[None]] = []
    begun, go_on = threading.Event(), threading.Event()

    def work(errand: Errand) -> None:
        begun.set()
        go_on.wait(20)
        errand.check()

    errands.start(work, ends.append)
    assert begun.wait(20)
    assert not errands.start(work, ends.append)
    errands.call_back()
    go_on.set()
    screen.hear()
    assert ends == [Ended()]


def test_a_quiet_one_gives_way_to_one_that_was_asked_for(told: tuple[Screen, Errands]) -> None:
    """It is called back, and the other goes next; a second quiet one is not taken."""
    screen, errands = told
    ends: list[Ended[str]] = []
    begun, go_on = threading.Event(), threading.Event()

    def quiet(errand: Errand) -> str:
        begun.set()
        go_on.wait(20)
        errand.check()
        return "quiet"

    errands.start(quiet, ends.append, quiet=True)
    assert begun.wait(20)
    assert not errands.start(quiet, ends.append, quiet=True)
    assert errands.start(lambda _errand: "asked", ends.append)
    go_on.set()
    screen.hear()
    screen.hear()
    assert ends == [Ended(), Ended(result="asked")]


def test_one_that_was_closed_tells_nothing_more(told: tuple[Screen, Errands]) -> None:
    """The app is gone: whatever still comes is not heard."""
    screen, errands = told
    ends: list[Ended[None]] = []
    errands.start(lambda _errand: None, ends.append)
    errands.close()
    screen.hear()
    assert ends == []
