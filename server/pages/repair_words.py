"""What the ways to put a discrepancy right are called, and what is asked where one needs an answer."""

from collections.abc import Mapping
from typing import Final

from server.pages.conditions import LOOKS
from server.pages.values import value_words
from server.pages.wording import gettext, mark
from server.review.repairs import Repair, Way
from shared_schema.discrepancies import Sort

__all__ = ["REPAIR_WORDS", "SORT_TITLES", "ask_words", "offered", "repair_words"]

SORT_TITLES: Final[Mapping[Sort, str]] = {
    "two_in_one_place": mark("Two in one position"),
    "one_in_two_places": mark("One in two places"),
    "dead_then_alive": mark("Dead, then alive"),
    "unknown_genet": mark("Genet not registered"),
    "unknown_parent": mark("Mother not in the record"),
    "own_ancestor": mark("Its own ancestor"),
    "unknown_position": mark("No such position"),
    "never_planted": mark("Seen, never planted"),
    "tag_twice": mark("One tag on two"),
}

REPAIR_WORDS: Final[Mapping[Way, str]] = {
    "hangs_at": mark("%(fragment)s hangs at %(place)s"),
    "hangs_elsewhere": mark("%(fragment)s hangs somewhere else, not at %(place)s"),
    "never_came": mark("%(fragment)s still hangs at %(place)s, as before, not at %(other_place)s"),
    "swapped": mark("The two were swapped: %(fragment)s hangs at %(place)s, %(other)s at %(other_place)s"),
    "moved_there": mark("%(fragment)s was moved to %(place)s, where it was seen"),
    "position_was_a_slip": mark("%(fragment)s still hangs at %(place)s: that it was seen at %(other_place)s is a slip"),
    "found_there": mark("%(fragment)s hangs at %(place)s, where it was seen"),
    "not_ours": mark("%(fragment)s is not in the nursery: taken out, or never there"),
    "lost": mark("%(fragment)s is no longer here: lost"),
    "never_dead": mark("%(fragment)s was never dead: what %(survey)s found was something else"),
    "still_dead": mark("%(fragment)s is dead, and was not alive in %(survey)s"),
    "genet_registered": mark("%(genet)s is a genet that nobody entered yet: register it"),
    "genet_of_mother": mark("%(fragment)s is of genet %(genet)s, as its mother %(parent)s, not of %(other)s"),
    "other_genet": mark("%(fragment)s is of another genet, not of %(genet)s"),
    "other_mother": mark("%(fragment)s was cut from another one, not from %(parent)s"),
    "mother_on_record": mark("%(parent)s was in the nursery and is no longer: put that on record"),
    "other_tag": mark("%(fragment)s carries another tag, not %(tag)s"),
    "earlier_tag": mark("%(fragment)s still carries the tag %(tag)s, as before"),
    "left": mark("Leave it: it is right as it stands"),
}
_WITHOUT_PLACE: Final = mark("%(fragment)s hangs somewhere else")

_ASKED: Final[Mapping[str, str]] = {
    "place": mark("Where it hangs"),
    "status": mark("What it was"),
    "genet": mark("Which genet"),
    "parent": mark("From which one"),
    "tag": mark("Which tag"),
}


def repair_words(repair: Repair) -> str:
    """A repair as a sentence."""
    names = {key: value_words("place", value) if key.endswith("place") else value for key, value in repair.names.items()}
    if repair.way == "hangs_elsewhere" and "place" not in names:
        return gettext(_WITHOUT_PLACE) % names
    return gettext(REPAIR_WORDS[repair.way]) % names


def ask_words(fact: str) -> str:
    """What a repair asks for."""
    return gettext(_ASKED[fact])


def offered(repair: Repair) -> list[tuple[str, str]]:
    """(value, word) of what somebody may choose from, before anything else."""
    if repair.asks == "status":
        words = {look.key: f"{look.letter} – {look.word}" for look in LOOKS}
        return [(value, words[value]) for value in repair.offers]
    off = [(value, value_words("place", value)) for value in ("ground", "holding", "removed")] if repair.asks == "place" else []
    return [*((value, value) for value in repair.offers), *off]
