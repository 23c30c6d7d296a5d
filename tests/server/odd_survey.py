"""What goes wrong in a survey, added to the small nursery: unlikely entries, one that nobody understands, a late arrival."""

import json
from typing import Final

from server.review.closing import close_survey, look_over_closing
from server.store.record import RecordStore
from shared_schema.entries import PageSignedOff
from tests.server.small_nursery import BEFORE, NOW, Boat, SmallNursery, positions

__all__ = ["UNLIKELY", "bring_nonsense", "make_unlikely", "sign_off_too_soon"]

UNLIKELY: Final = {
    ("lost_then_living", "T1/1.4.5"),
    ("dead_then_living", "T1/2.1.1"),
    ("signed_in_seconds", "B1/1"),
    ("none_marked", "L1/2"),
}


def make_unlikely(boats: SmallNursery) -> None:
    """Two corals that came back to life, a page signed in three seconds, a page that healed in one month."""
    _anew(boats.ana, "T1-020", "T1/1.4.5", "lost")
    _anew(boats.ana, "T1-021", "T1/2.1.1", "dead")
    healed = [(fragment, place) for fragment, place in positions("L1") if place.startswith("L1/2.")]
    for fragment, place in healed:
        _anew(boats.ana, fragment, place, "bleached")
    boats.ana.author.write(PageSignedOff, "page:B1/1", NOW, alive=9, marked=1, unseen=0, seconds=3)
    boats.ana.author.write(PageSignedOff, "page:B1/2", NOW, alive=8, marked=1, unseen=0, seconds=5)
    boats.ben.author.write(PageSignedOff, "page:L1/2", NOW, alive=len(healed), marked=0, unseen=0, seconds=70)
    boats.ana.back()
    boats.ben.back()


def _anew(boat: Boat, fragment: str, place: str, status: str) -> None:
    """Somebody corrects what she had entered of a fragment in the survey before."""
    last = [one.id for one in boat.author.written if one.subject == f"fragment:{fragment}" and one.survey == BEFORE]
    boat.saw(fragment, place, status, survey=BEFORE, live_tissue=None, replaces=tuple(last))


def bring_nonsense(store: RecordStore, survey: str = NOW, writer: str = "newer2") -> None:
    """A tablet of tomorrow says something of a kind that nobody here knows, and another without a survey."""
    told = [{"id": f"{writer}-1", "kind": "glow_seen", "v": 1, "survey": survey, "subject": "fragment:T1-001", "glow": 3}]
    told.append({"id": f"{writer}-2", "kind": "glow_seen", "v": 1, "subject": "fragment:T1-001", "glow": 3})
    store.receive([json.dumps(one, separators=(",", ":")).encode() for one in told], writer)


def sign_off_too_soon(store: RecordStore, boats: SmallNursery) -> None:
    """The survey is signed off, and then Ben's tablet brings one more coral."""
    close_survey(store, "ines", NOW, "Two pages are left", look_over_closing(store, NOW)[1])
    boats.ben.saw("B1-001", "B1/1.1", "alive")
    boats.ben.back()
