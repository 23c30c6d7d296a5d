"""One morning on the boat: two tablets, the same corals, and what each of their divers thought to see."""

from collections.abc import Iterator
from dataclasses import dataclass, field
from random import Random
from typing import Any, Final

from server.demo.coral import Coral
from server.demo.divers import look
from server.demo.nursery import Nursery

__all__ = ["LOADED", "Boat", "play_scene"]

LOADED: Final = ("T03", "T07", "L1")
"""The structures whose map both tablets take along."""

_READ: Final = {
    "Gannet (demo)": (("teo", "T03", "123"), ("ilka", "T03", "45"), ("ilka", "T07", "12345")),
    "Pelican (demo)": (("dewi", "T03", "12345"), ("noor", "T07", "123"), ("dewi", "L1", "123")),
}
_GANNET, _PELICAN = _READ
_HASTE: Final = 0.3
"""Both crews take their time: what they disagree on should fit on a screen."""


@dataclass(slots=True)
class Boat:
    """A tablet: its name, and the lines that its crew types."""

    name: str
    slip: list[dict[str, Any]] = field(default_factory=list)
    _told: dict[str, dict[str, Any]] = field(default_factory=dict)

    def will_say(self, coral: Coral, **facts: Any) -> None:
        """Of this coral its divers say just this, whatever is so."""
        self._told[coral.name] = facts

    def says(self, coral: Coral, diver: str, rng: Random) -> dict[str, Any]:
        """What is typed of a coral."""
        told = self._told.get(coral.name)
        return look(coral, diver, rng, haste=_HASTE) if told is None else told

    def write(self, by: str, **line: Any) -> None:
        """Type one line."""
        self.slip.append({"by": by, **line})


def play_scene(nursery: Nursery) -> tuple[Boat, Boat]:
    """What both crews type, without knowing of each other: the errors that divers make, and some that are sure to be made."""
    boats = Boat(_GANNET), Boat(_PELICAN)
    after = _contradict(nursery, *boats)
    for boat in boats:
        for diver, structure, pages in _READ[boat.name]:
            boat.write(diver, dive=[diver], place=structure, visibility_cm=1500, water_temp_dc=281)
            for page, corals in nursery.by_page(structure):
                if page in pages:
                    _read(boat, diver, f"{structure}/{page}", corals, nursery.rng)
            for line in after.get((boat.name, structure), ()):
                boat.write(diver, **line)
    for page in "45":
        boats[1].write("noor", not_reached=f"T07/{page}", reason="the current turned")
    for boat, diver in zip(boats, ("ilka", "dewi"), strict=True):
        boat.write(diver, upkeep="T03", work=["cleaned"], minutes=25)
    return boats


def _read(boat: Boat, diver: str, page: str, corals: list[Coral], rng: Random) -> None:
    for coral in corals:
        seen = boat.says(coral, diver, rng)
        if seen != {"status": "alive"}:
            boat.write(diver, at=coral.place, fragment=coral.name, **seen)
    boat.write(diver, sign_off=page)


_Lines = dict[tuple[str, str], list[dict[str, Any]]]


def _contradict(nursery: Nursery, gannet: Boat, pelican: Boat) -> _Lines:
    """Make sure that there is something to settle; gives what else is typed once a structure is read."""
    sound = _sound(nursery)
    one = next(sound["T03/1"])
    gannet.will_say(one, status="fading", bleaching="pale")
    pelican.will_say(one, status="bleached", bleaching="partial")
    one = next(sound["T03/2"])
    gannet.will_say(one, status="alive")
    pelican.will_say(one, status="preyed_on", predator="snail", live_tissue=70)
    one = next(sound["T03/4"])
    gannet.will_say(one, status="fading", live_tissue=80)
    pelican.will_say(one, status="fading", live_tissue=60)
    one = next(sound["T07/2"])
    gannet.will_say(one, status="lost")
    pelican.will_say(one, status="alive")
    one = next(sound["T07/3"])
    gannet.will_say(one, status="bleached", bleaching="full")
    pelican.will_say(one, status="dead")
    one = next(sound["L1/2"])
    pelican.will_say(one, status="fading", bleaching="pale")
    after: _Lines = {
        (_GANNET, "T07"): [{"at": one.place, "fragment": one.name, "live_tissue": 65}],
        (_PELICAN, "T07"): [],
        (_PELICAN, "T03"): [],
    }
    _move(nursery, sound, after)
    return after


def _move(nursery: Nursery, sound: dict[str, Iterator[Coral]], after: _Lines) -> None:
    """One coral is hung in two places, and two corals in one, as far as the two crews tell."""
    rooms = [place for structure in LOADED for place in nursery.free(structure)]
    if len(rooms) < 3:
        return
    loose, left, right = next(sound["T03/5"]), next(sound["T07/1"]), next(sound["T07/1"])
    after[_GANNET, "T07"].append({"move": loose.place, "fragment": loose.name, "to": rooms[0], "reason": "the tie was loose"})
    after[_PELICAN, "T03"].append({"move": loose.place, "fragment": loose.name, "to": rooms[1], "reason": "hung loose"})
    after[_GANNET, "T07"].append({"move": left.place, "fragment": left.name, "to": rooms[2], "reason": "too close together"})
    after[_PELICAN, "T07"].append({"move": right.place, "fragment": right.name, "to": rooms[2], "reason": "too close together"})


def _sound(nursery: Nursery) -> dict[str, Iterator[Coral]]:
    """page -> its corals that are well, so that what is said of them is not overlaid by what is so."""
    return {
        f"{structure}/{page}": iter([coral for coral in corals if coral.status == "alive" and not coral.loose and not coral.broken])
        for structure in LOADED
        for page, corals in nursery.by_page(structure)
    }
