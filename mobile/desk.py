"""What a page screen shows and asks for, and a desk that keeps it in memory: for practice, and to look at screens.

Two ways of entry. *Place first*: tap a place, then its status; the place stays selected, so that another status corrects
it. *Status first*: tap a status, then all the places that have it. An arm selects, or marks, all of its places.
"""

from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Final, Literal, Protocol, TypeAlias

from mobile.board import BoardPicture, BoardSpot
from mobile.overview import OverviewPicture, PageMark, PageState
from shared_schema.designs import Design, Page

__all__ = ["UNDO_DEPTH", "UNSEEN", "Carry", "Counts", "Done", "PageDesk", "PageView", "PracticeDesk", "Way"]

Way: TypeAlias = Literal["place_first", "status_first"]

UNSEEN: Final = "unseen"
"""Stands among statuses for `I did not look at these`."""
UNDO_DEPTH: Final = 20


@dataclass(frozen=True, slots=True)
class Counts:
    """What signing the page off now would vouch for."""

    alive: int
    marked: int
    unseen: int


@dataclass(frozen=True, slots=True)
class Done:
    """The last thing done, which undo takes back: a status, UNSEEN, or what else a recorder calls it, and where."""

    what: str
    where: str


@dataclass(frozen=True, slots=True)
class Carry:
    """What is in hand while the next place is tapped.

    `move`: `fragment` hangs there from now on. `cut`: a piece of `fragment` does, and so on until it is put down.
    `mother`: what hangs there is the mother of a new piece at `where`, an address; `replant` says that what hung at `where`
    goes out. `taken` is the path that was tapped although something hangs there: tapping it again means it.
    """

    sort: Literal["move", "cut", "mother"]
    fragment: str = ""
    where: str = ""
    replant: bool = False
    taken: str = ""


@dataclass(frozen=True, slots=True)
class PageView:
    """All that the page screen shows. `chosen` is the status that is framed: of the selected places, or in hand.

    `which` are the fragments of which one has to be chosen, where two hang in the place that was marked. `doubts` says
    that something about the last page signed asks for a note. `saw` is who saw all this.
    """

    structure: str
    board: BoardPicture
    overview: OverviewPicture
    counts: Counts
    way: Way
    chosen: str
    signed: bool
    done: Done | None
    carry: Carry | None = None
    which: tuple[str, ...] = ()
    doubts: str = ""
    saw: str = ""


class PageDesk(Protocol):
    """What the page screen asks for. Each call is kept before the next `view` shows it."""

    @property
    def view(self) -> PageView:
        """How things are now."""
        ...

    def open_page(self, path: str) -> None:
        """Show another page of the structure."""
        ...

    def touch_place(self, path: str) -> None:
        """A place was tapped."""
        ...

    def touch_arm(self, number: int) -> None:
        """An arm, row or stretch of this page was tapped."""
        ...

    def pick_status(self, status: str) -> None:
        """A status, or UNSEEN, was tapped."""
        ...

    def choose_way(self, way: Way) -> None:
        """Enter the other way round."""
        ...

    def sign_off(self) -> None:
        """Vouch for the page, and go to the next one that nobody vouched for."""
        ...

    def undo(self) -> None:
        """Take the last thing back."""
        ...


@dataclass(frozen=True, slots=True)
class _Slate:
    """What undo brings back."""

    here: str
    statuses: Mapping[str, str]
    signed: frozenset[str]
    touched: str
    done: Done | None


class PracticeDesk:
    """A page desk in memory. `before` has the statuses of the last visit by path, `disputed` the paths with open questions.

    Positions in `bare` have nothing hanging.
    """

    def __init__(
        self,
        structure: str,
        design: Design,
        before: Mapping[str, str] | None = None,
        bare: frozenset[str] = frozenset(),
        disputed: frozenset[str] = frozenset(),
    ) -> None:
        self._structure, self._design = structure, design
        self._before, self._bare, self._disputed = dict(before or {}), bare, disputed
        self._way: Way = "place_first"
        self._selected: frozenset[str] = frozenset()
        self._held = ""
        self._now = _Slate(design.pages[0].path, {}, frozenset(), "", None)
        self._past: list[_Slate] = []

    @property
    def statuses(self) -> Mapping[str, str]:
        """What was entered or vouched for, by path; UNSEEN where nobody looked."""
        return self._now.statuses

    @property
    def view(self) -> PageView:
        """How things are now."""
        page, now = self._page, self._now
        own = [now.statuses.get(position.path) for position in page.positions if position.path not in self._bare]
        marked = sum(status not in (None, "alive", UNSEEN) for status in own)
        unseen = own.count(UNSEEN)
        return PageView(
            structure=self._structure,
            board=BoardPicture(page, tuple(self._spot(position.path) for position in page.positions)),
            overview=self._overview(),
            counts=Counts(len(own) - marked - unseen, marked, unseen),
            way=self._way,
            chosen=self._held if self._way == "status_first" else self._common_status(),
            signed=page.path in now.signed,
            done=now.done,
        )

    def open_page(self, path: str) -> None:
        """Show another page."""
        self._selected = frozenset()
        self._now = replace(self._now, here=self._design.page(path).path)

    def touch_place(self, path: str) -> None:
        """Select a place, or mark it with the status in hand; tapping the selected one lets go of it."""
        self._touch(frozenset({path}), path)

    def touch_arm(self, number: int) -> None:
        """Select all of an arm that something hangs from, or mark it."""
        group = next(group for group in self._page.groups if group.number == number)
        paths = frozenset(position.path for position in group.positions) - self._bare
        self._touch(paths, f"{self._page.path}.{number}")

    def pick_status(self, status: str) -> None:
        """Mark what is selected, or take the status in hand; tapping the one in hand puts it down."""
        if self._way == "status_first":
            self._held = "" if self._held == status else status
        elif self._selected:
            where = next(iter(self._selected)) if len(self._selected) == 1 else self._now.touched
            self._mark(self._selected, where, status)

    def choose_way(self, way: Way) -> None:
        """Enter the other way round."""
        self._way, self._held, self._selected = way, "", frozenset()

    def sign_off(self) -> None:
        """Vouch for the page, and go to the next one that nobody vouched for, where there is one."""
        page = self._page.path
        signed = self._now.signed | {page}
        order = [each.path for each in self._design.pages]
        after = order[order.index(page) + 1 :] + order[: order.index(page)]
        here = next((path for path in after if path not in signed), page)
        self._selected = frozenset()
        rest = {position.path: "alive" for position in self._page.positions if position.path not in self._bare}
        statuses = {**rest, **self._now.statuses}
        self._keep(replace(self._now, statuses=statuses, signed=signed, here=here, done=Done("signed_off", page)))

    def undo(self) -> None:
        """Take the last thing back."""
        if self._past:
            self._now, self._selected = self._past.pop(), frozenset()

    @property
    def _page(self) -> Page:
        return self._design.page(self._now.here)

    def _touch(self, paths: frozenset[str], where: str) -> None:
        if self._way == "status_first" and self._held:
            self._mark(paths, where, self._held)
        elif self._way == "place_first":
            self._selected = frozenset() if self._selected == paths else paths
            self._now = replace(self._now, touched=where)

    def _mark(self, paths: frozenset[str], where: str, status: str) -> None:
        hanging = paths - self._bare
        if not hanging:
            return
        statuses = {**self._now.statuses, **dict.fromkeys(hanging, status)}
        page = self._now.here
        self._keep(replace(self._now, statuses=statuses, touched=where, signed=self._now.signed - {page}, done=Done(status, where)))

    def _keep(self, slate: _Slate) -> None:
        self._past = [*self._past[-(UNDO_DEPTH - 1) :], self._now]
        self._now = slate

    def _common_status(self) -> str:
        found = {self._now.statuses.get(path, "") for path in self._selected}
        return found.pop() if len(found) == 1 else ""

    def _spot(self, path: str) -> BoardSpot:
        status = self._now.statuses.get(path)
        return BoardSpot(
            path,
            status=None if status == UNSEEN else status,
            faint=None if path in self._bare else self._before.get(path),
            open=path in self._disputed,
            last_touched=path == self._now.touched,
            selected=path in self._selected,
            empty=path in self._bare,
            unseen=status == UNSEEN,
        )

    def _overview(self) -> OverviewPicture:
        pages = tuple(PageMark(page.path, self._state(page), self._asks(page)) for page in self._design.pages)
        known = tuple((path, status) for path, status in self._now.statuses.items() if status != UNSEEN)
        return OverviewPicture(self._design, pages, self._now.here, known)

    def _state(self, page: Page) -> PageState:
        if page.path in self._now.signed:
            return "signed_off"
        marked = any(position.path in self._now.statuses for position in page.positions)
        return "in_work" if marked or page.path == self._now.here else "not_opened"

    def _asks(self, page: Page) -> bool:
        return any(position.path in self._disputed for position in page.positions)
