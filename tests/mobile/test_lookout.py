"""Looking for a network by itself: soon, then ever less often, and never under a working finger."""

from pathlib import Path

from mobile.lookout import Lookout
from mobile.store import Store


class Clock:
    """Seconds that grow when a test says so."""

    now = 1000.0

    def __call__(self) -> float:
        """The time."""
        return self.now


def waits(lookout: Lookout, clock: Clock, *, waiting: bool) -> int:
    """The whole seconds until it would knock, with nobody at the screen."""
    start = clock.now
    while not lookout.due(0, waiting=waiting):
        clock.now += 1
    return int(clock.now - start)


def test_it_knocks_less_and_less_often_while_nobody_answers(tmp_path: Path) -> None:
    """Fifteen seconds, then twice as long each time, five minutes at most."""
    with Store(tmp_path / "a.sqlite") as store:
        clock = Clock()
        lookout = Lookout(store.settings, clock)
        found = []
        for _ in range(7):
            found.append(waits(lookout, clock, waiting=True))
            lookout.heard(answered=False)
        assert found == [15, 30, 60, 120, 240, 300, 300]


def test_an_answer_makes_it_knock_soon_for_what_waits(tmp_path: Path) -> None:
    """Half a minute where something is to be sent, five minutes where nothing is."""
    with Store(tmp_path / "a.sqlite") as store:
        clock = Clock()
        lookout = Lookout(store.settings, clock)
        lookout.heard(answered=True)
        assert waits(lookout, clock, waiting=True) == 30
        lookout.heard(answered=True)
        assert waits(lookout, clock, waiting=False) == 300


def test_it_leaves_a_working_finger_alone_and_can_be_switched_off(tmp_path: Path) -> None:
    """Twenty seconds after the last touch at the earliest; switched off it stays, over a restart too."""
    path = tmp_path / "a.sqlite"
    with Store(path) as store:
        clock = Clock()
        lookout = Lookout(store.settings, clock)
        clock.now += 600
        assert not lookout.due(clock.now - 19, waiting=True)
        assert lookout.due(clock.now - 20, waiting=True)
        lookout.switch(on=False)
        assert not lookout.due(0, waiting=True)
    with Store(path) as store:
        assert not Lookout(store.settings, Clock()).on
