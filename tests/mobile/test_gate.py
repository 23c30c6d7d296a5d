"""One finger at a time, and no tap twice."""

from hypothesis import given
from hypothesis import strategies as st

from mobile.gate import REPEAT_S, TouchGate

SPOT = 50.0


class Clock:
    """Seconds that grow when told to."""

    def __init__(self) -> None:
        self.now = 1000.0

    def __call__(self) -> float:
        """The time."""
        return self.now


def tap(gate: TouchGate, x: float, y: float) -> bool:
    """A finger comes down and goes up again: whether it counted."""
    counted = gate.enter("finger", x, y)
    gate.leave("finger", x, y)
    return counted


@given(st.floats(0, REPEAT_S - 0.001), st.floats(0, SPOT))
def test_the_second_of_two_quick_taps_at_a_spot_is_dropped(later: float, away: float) -> None:
    """Within 250 ms and half a target, two taps are one."""
    clock = Clock()
    gate = TouchGate(clock, SPOT)
    assert tap(gate, 100, 100)
    clock.now += later
    assert not tap(gate, 100 + away, 100)


@given(st.floats(REPEAT_S + 0.001, 10))
def test_a_tap_after_a_moment_counts(later: float) -> None:
    """After 250 ms the same spot may be tapped again."""
    clock = Clock()
    gate = TouchGate(clock, SPOT)
    assert tap(gate, 100, 100)
    clock.now += later
    assert tap(gate, 100, 100)


@given(st.floats(SPOT + 1, 2000))
def test_a_quick_tap_elsewhere_counts(away: float) -> None:
    """Somebody who works fast from place to place is not slowed down."""
    gate = TouchGate(Clock(), SPOT)
    assert tap(gate, 100, 100)
    assert tap(gate, 100 + away, 100)


def test_a_second_finger_waits_for_the_first() -> None:
    """While a finger is down, another does not count, nor does its going up end the first one's turn."""
    gate = TouchGate(Clock(), SPOT)
    assert gate.enter("thumb", 0, 0)
    assert not gate.enter("drop", 500, 500)
    gate.leave("drop", 500, 500)
    assert gate.holds("thumb")
    assert not gate.holds("drop")
    gate.leave("thumb", 0, 0)
    assert gate.enter("drop", 500, 500)


def test_a_finger_that_never_went_up_does_not_lock_the_screen() -> None:
    """A touch whose end was lost is forgotten after five seconds."""
    clock = Clock()
    gate = TouchGate(clock, SPOT)
    assert gate.enter("lost", 0, 0)
    clock.now += 5.1
    assert gate.enter("next", 0, 0)
