"""Anything that a crew and its office may say of three small structures, in any order, for tests that follow a record."""

from collections.abc import Callable, Mapping
from decimal import Decimal
from itertools import count
from typing import Any, Final, TypeAlias

from hypothesis import strategies as st

from server.store.record import RecordStore
from shared_schema.author import Author
from shared_schema.designs import Line, design_fields
from shared_schema.entries import (
    ConditionSeen,
    EntryWithdrawn,
    FragmentMoved,
    FragmentPlanted,
    GenetRegistered,
    NoteMade,
    PageNotReached,
    PageSignedOff,
    RulingGiven,
    SizeMeasured,
    StructureHung,
    SurveyPlanned,
    TagChecked,
    write_entry,
)
from shared_schema.envelope import BaseEntry
from tests.server.blank import beside
from tests.server.conftest import Nursery
from tests.server.small_nursery import SITE_MORNING

__all__ = ["SURVEYS", "Crew", "Deed", "deeds", "hung_and_planted"]

SURVEYS: Final = ("2026-08", "2026-09", "2026-10")
FRAGMENTS: Final = tuple(f"F{number}" for number in range(14))
PLACES: Final = ("L1/1.1", "L1/1.2", "L1/2.1", "L2/1.1", "L2/1.9", "L3/1.1", "ground", "holding", "removed", "site:reef")
NUMBERS: Final = count()

Deed: TypeAlias = tuple[str, str, str, str, str, str, bool]

deeds: Final = st.tuples(
    st.sampled_from(
        [
            *("see", "see", "see elsewhere", "see all", "sign", "hasty", "not reached", "explain"),
            *("plant", "move", "measure", "tag", "genet", "hang", "plan", "withdraw", "rule"),
        ]
    ),
    st.sampled_from(FRAGMENTS[:6]),
    st.sampled_from(("", *SURVEYS, *SURVEYS)),
    st.sampled_from(PLACES),
    st.sampled_from(["alive", "alive", "fading", "dead", "lost"]),
    st.sampled_from(["tabx", "taby"]),
    st.booleans(),
)
"""(what, fragment, survey, place, status, who writes, whether it replaces what the same one said before)"""


def hung_and_planted(shared: Nursery) -> RecordStore:
    """A nursery of its own in a shared database: three planned surveys, two lines, and corals on them."""
    nursery = beside(shared[1], f"Busy {next(NUMBERS)}")
    with nursery.office("ines") as office:
        for name in ("L1", "L2"):
            office.write(StructureHung, f"structure:{name}", design=_line(12), location="west")
        for survey in SURVEYS:
            office.write(SurveyPlanned, f"survey:{survey}", name=survey, opens=f"{survey}-10", closes=f"{survey}-12")
        for number, name in enumerate(FRAGMENTS):
            place = f"L1/{1 + number // 12}.{1 + number % 12}"
            office.write(FragmentPlanted, f"fragment:{name}", place=place, genet="G1")
    return nursery


def _line(places: int) -> Mapping[str, Any]:
    return design_fields(Line(unit="m", length=Decimal(places * 2 - 1), spacing=Decimal(1), per_stretch=places))


class Crew:
    """Two tablets and the office of one nursery."""

    def __init__(self, store: RecordStore) -> None:
        self.store = store
        self.authors = {writer: Author(writer, 0, "ana", lambda: SITE_MORNING) for writer in ("tabx", "taby")}
        self.written: list[BaseEntry] = []

    def do(self, deed: Deed) -> None:
        """One thing is done and synced; what makes no sense by now does nothing."""
        what = deed[0]
        if what in _OF_THE_OFFICE:
            _OF_THE_OFFICE[what](self, deed)
            return
        author = self.authors[deed[5]]
        done = len(author.written)
        _ON_BOARD[what](self, author, deed)
        new = author.written[done:]
        self.written += new
        if new:
            self.store.receive([write_entry(entry) for entry in new], author.writer)

    def _see(self, author: Author, deed: Deed, **more: Any) -> None:
        _, fragment, survey, _, status, _, _ = deed
        self._say(author, ConditionSeen, f"fragment:{fragment}", deed, survey, status=status, **more)

    def _say(self, author: Author, kind: type[BaseEntry], subject: str, deed: Deed, survey: str, **fields: Any) -> None:
        before = tuple(one.id for one in self.written if one.group == (survey, subject) and one.writer == author.writer)
        author.write(kind, subject, survey, **fields, replaces=before if deed[6] else ())

    def _see_elsewhere(self, author: Author, deed: Deed) -> None:
        self._see(author, deed, **({"seen_at": deed[3]} if "/" in deed[3] else {}))

    def _see_all(self, author: Author, deed: Deed) -> None:
        """Enough of one page that a later one with none is unlikely."""
        for name in FRAGMENTS[:12]:
            self._see(author, (deed[0], name, *deed[2:]))

    def _sign(self, author: Author, deed: Deed, seconds: int = 90) -> None:
        page = "page:L1/1" if deed[6] else "page:L2/1"
        self._say(author, PageSignedOff, page, deed, deed[2], alive=12, marked=0, unseen=0, seconds=seconds)

    def _explain(self, author: Author, deed: Deed) -> None:
        for entry in reversed(self.written):
            if entry.survey == deed[2] and isinstance(entry, PageSignedOff | ConditionSeen):
                author.write(NoteMade, entry.subject, entry.survey, text="So it was.", about=entry.id)
                return

    def _plant(self, author: Author, deed: Deed) -> None:
        _, fragment, survey, place, _, _, mother = deed
        parent = f"F{(int(fragment[1:]) + 1) % 6}" if mother else "F99"
        self._say(author, FragmentPlanted, f"fragment:{fragment}", deed, survey, place=place, genet="G2", parent=parent)

    def _move(self, author: Author, deed: Deed) -> None:
        self._say(author, FragmentMoved, f"fragment:{deed[1]}", deed, deed[2], place=deed[3])

    def _measure(self, author: Author, deed: Deed) -> None:
        self._say(author, SizeMeasured, f"fragment:{deed[1]}", deed, deed[2], tle_mm=50 + 10 * len(self.written))

    def _tag(self, author: Author, deed: Deed) -> None:
        tag = "101" if deed[6] else "1O1"
        self._say(author, TagChecked, f"fragment:{deed[1]}", deed, deed[2], tag=tag, tag_state="readable")

    def _not_reached(self, author: Author, deed: Deed) -> None:
        self._say(author, PageNotReached, "page:L1/1" if deed[6] else "page:L2/1", deed, deed[2])

    def _withdraw(self, author: Author, deed: Deed) -> None:
        """The last that this one said in that survey, or of that fragment."""
        for entry in reversed(self.written):
            mine = entry.writer == author.writer and not isinstance(entry, EntryWithdrawn)
            if mine and (entry.survey == deed[2] or entry.subject == f"fragment:{deed[1]}"):
                author.write(EntryWithdrawn, entry.subject, entry.survey, target=entry.id)
                return

    def _genet(self, deed: Deed) -> None:
        with self.store.office("ines") as office:
            office.write(GenetRegistered, "genet:G1" if deed[6] else "genet:G2", name="Of the west")

    def _hang(self, deed: Deed) -> None:
        with self.store.office("ines") as office:
            office.write(StructureHung, "structure:L3" if deed[6] else "structure:L2", design=_line(3), location="east")

    def _plan(self, deed: Deed) -> None:
        if deed[2]:
            names = ("L1",) if deed[6] else ("L1", "L3")
            with self.store.office("ines") as office:
                days = {"opens": f"{deed[2]}-10", "closes": f"{deed[2]}-{14 + len(self.written) % 9}"}
                office.write(SurveyPlanned, f"survey:{deed[2]}", name="Anew", structures=names, **days)

    def _rule(self, deed: Deed) -> None:
        subject, fact = f"fragment:{deed[1]}", "place" if deed[6] else "status"
        seen = tuple(one.id for one in self.written if one.group == (deed[2], subject))
        if seen:
            with self.store.office("ines") as office:
                value = deed[3] if fact == "place" else deed[4]
                office.write(RulingGiven, subject, deed[2], fact=fact, value=value, replaces=seen)


_ON_BOARD: Final[Mapping[str, Callable[[Crew, Author, Deed], None]]] = {
    "see": Crew._see,
    "see elsewhere": Crew._see_elsewhere,
    "see all": Crew._see_all,
    "sign": Crew._sign,
    "hasty": lambda crew, author, deed: crew._sign(author, deed, 4),
    "not reached": Crew._not_reached,
    "explain": Crew._explain,
    "plant": Crew._plant,
    "move": Crew._move,
    "measure": Crew._measure,
    "tag": Crew._tag,
    "withdraw": Crew._withdraw,
}
_OF_THE_OFFICE: Final[Mapping[str, Callable[[Crew, Deed], None]]] = {
    "genet": Crew._genet,
    "hang": Crew._hang,
    "plan": Crew._plan,
    "rule": Crew._rule,
}
