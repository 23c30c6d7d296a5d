"""After the storm: corals found on the sand, some hung again, and two trees whose corals were hung back crosswise."""

from typing import Final

from server.demo.calendar import Month
from server.demo.coral import Coral
from server.demo.nursery import Nursery
from shared_schema.entries import ConditionSeen, FragmentMoved, NoteMade, UpkeepDone

__all__ = ["clear_up"]

_SHUFFLED: Final = ("T05", "T08")
_PAIRS: Final = 9


def clear_up(nursery: Nursery, month: Month) -> None:
    """What the crew did in the days after the survey of the storm."""
    pen, diver = nursery.tablet(2), "ilka"
    pen.at(f"{month.survey}-18", 9 * 60)
    for structure in ("T09", "T10", "T11", "T12"):
        text = "the storm twisted the trunk; arms checked and turned back"
        pen.write(NoteMade, f"structure:{structure}", month.survey, diver, text=text)
        pen.write(UpkeepDone, f"structure:{structure}", month.survey, diver, work=["repaired", "anchor_checked"], minutes=50)
    _shuffle(nursery, month.survey)
    for coral in [one for one in nursery.corals.values() if one.missing and one.found]:
        _pick_up(nursery, month.survey, coral, diver)


def _pick_up(nursery: Nursery, survey: str, coral: Coral, diver: str) -> None:
    pen = nursery.tablet(2)
    pen.at(f"{survey}-20", 9 * 60)
    before = [said.entry for said in nursery.said.get(coral.name, ())]
    ground = pen.write(FragmentMoved, f"fragment:{coral.name}", survey, diver, place="ground", reason="found on the sand")
    old, coral.missing, coral.found, coral.broken = coral.place, False, False, True
    pen.write(
        ConditionSeen,
        f"fragment:{coral.name}",
        survey,
        diver,
        basis="tapped",
        status=coral.status,
        breakage="branches",
        replaces=before,
    )
    nursery.said.pop(coral.name, None)
    if coral.tissue > 0.3 and old in nursery.free(old.partition("/")[0]):
        pen.write(FragmentMoved, f"fragment:{coral.name}", survey, diver, place=old, reason="hung again", replaces=[ground])
        coral.closed = False
    else:
        coral.put("ground")
        coral.closed = True


def _shuffle(nursery: Nursery, survey: str) -> None:
    pen, diver = nursery.tablet(0), "rafi"
    pen.at(f"{survey}-19", 10 * 60)
    one, other = ([c for c in nursery.corals.values() if c.structure == tree and c.living] for tree in _SHUFFLED)
    for turn, (left, right) in enumerate(zip(one[5:], other[5:], strict=False)):
        if turn == _PAIRS:
            break
        here, there = left.place, right.place
        # The last one is typed one hole too low: now two hang in one place, as far as anybody knows.
        left.put(there if turn < _PAIRS - 1 else other[4].place)
        right.put(here)
        for coral in (left, right):
            reason = "arms were taken off in the storm and put back on the other tree"
            pen.write(FragmentMoved, f"fragment:{coral.name}", survey, diver, place=coral.place, reason=reason)
