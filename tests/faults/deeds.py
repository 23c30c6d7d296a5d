"""What a crew may do on a tablet, in any order and anywhere."""

from collections.abc import Callable
from typing import Final, TypeAlias

from hypothesis import strategies as st

from mobile.recorder import Action, Recorder

__all__ = ["DEEDS", "STATUSES", "Deed", "people", "places", "several_deeds"]

PLACES: Final = ("T01/1.1.1", "T01/1.1.2", "T01/2.1.1", "T02/1.1.1")

STATUSES: Final = ("alive", "bleached", "sick", "dead", "lost")

places: Final = st.sampled_from(PLACES)
people: Final = st.sampled_from(("ana", "ben"))
statuses: Final = st.sampled_from(STATUSES)


def _explain(recorder: Recorder, place: str, _other: str, _status: str) -> Action:
    """A note that names the entry that it explains."""
    done = recorder.store.undo.last
    return recorder.note(place, "why", about=done.entries[0] if done else None)


DEEDS: Final[dict[str, Callable[[Recorder, str, str, str], Action | None]]] = {
    "mark": lambda recorder, place, _other, status: recorder.mark(place, status=status),
    "sign off": lambda recorder, place, _other, _status: recorder.sign_off(place[:5]),
    "undo": lambda recorder, _place, _other, _status: recorder.undo(),
    "plant": lambda recorder, place, _other, _status: recorder.plant(place, genet="G1"),
    "cut and plant": lambda recorder, place, other, _status: recorder.plant(place, other),
    "replant": lambda recorder, place, other, _status: recorder.replant(place, other),
    "move": lambda recorder, place, other, _status: recorder.move(place, other),
    "explain": _explain,
}
Deed: TypeAlias = tuple[str, str, str, str]
several_deeds: Final = st.lists(st.tuples(st.sampled_from(sorted(DEEDS)), places, places, statuses), min_size=1, max_size=4)
