"""What has become of a fragment: still held, dead, lost, on the reef, or taken out.

Dead and lost are never one: a fragment found dead in place is dead, one that was not found may turn up again. One that
was found dead and then taken out counts as dead. On the reef it is the reef's, whatever is seen of it there.
"""

from typing import Final, Literal, TypeAlias, cast

__all__ = ["STATES", "State", "state_of"]

State: TypeAlias = Literal["held", "dead", "lost", "outplanted", "removed"]
STATES: Final[tuple[State, ...]] = ("held", "dead", "lost", "outplanted", "removed")


def state_of(place: str | None, placed: str, status: str | None, looked: str) -> State:
    """The state of a fragment that is in `place` since survey `placed`, and was found in `status` in survey `looked`.

    One that was hung again after it was lost or dead is held again.
    """
    if place is not None and place.startswith("site:"):
        return "outplanted"
    if place == "removed":
        return "dead" if status == "dead" else "removed"
    if status in ("dead", "lost") and (place is None or looked >= placed):
        return cast("State", status)
    return "held"
