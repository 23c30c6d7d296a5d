"""The page desk of a dive: what is tapped becomes entries on disk, and what is shown is what the disk holds."""

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import replace
from datetime import datetime

from mobile.desk import UNSEEN, Carry, Counts, Done, PageView, Way
from mobile.dive_view import picture_page, status_here
from mobile.open_structure import OpenStructure
from mobile.overview import OverviewPicture
from mobile.recorder import Action, Recorder
from mobile.signing import PageReview, review_page
from shared_schema.designs import Page
from shared_schema.entries import ConditionSeen, read_entry
from shared_schema.ids import parse_address, parse_entry_id

__all__ = ["Deed", "DiveDesk"]

Deed = Callable[[Recorder], Action | None]


class DiveDesk:
    """One structure after another, page by page. It belongs to the thread of its recorder's store.

    `open` is the structure that is open. What is selected, in hand or carried is gone after a restart; all else is on disk
    before a method returns. Methods raise what Recorder's do; then nothing is kept, and the view is as it was.
    """

    _selected: frozenset[str]
    _arm: str

    def __init__(self, recorder: Recorder, structure: str, page: str = "") -> None:
        self.recorder, self.store, self.survey = recorder, recorder.store, recorder.survey
        self._way: Way = "status_first" if self._kept("way") == "status_first" else "place_first"
        self._held, self._doubts, self._pending = "", "", ""
        self._which: tuple[str, ...] = ()
        self._carry: Carry | None = None
        self.open = OpenStructure(self.store, self.survey, structure)
        self._touched = self._kept("touched")
        self._go(page or self.open.next_page() or self.open.design.pages[0].path)

    @property
    def page(self) -> Page:
        """The page that is open."""
        return self.open.design.page(self._here)

    @property
    def page_address(self) -> str:
        """Its address, as `T07/3`."""
        return self.open.address(self._here)

    @property
    def selection(self) -> tuple[str, ...]:
        """The addresses that are selected; with nothing selected, the place on this page that was touched last."""
        paths = [position.path for position in self.page.positions]
        chosen = [path for path in paths if path in self._selected] or [
            path for path in paths if path == self.open.path(self._touched)
        ]
        return tuple(self.open.address(path) for path in chosen)

    @property
    def review(self) -> PageReview:
        """What signing this page off would vouch for."""
        skipped = self.recorder.unseen.on(self.page_address) | self.open.off_board(self.page)
        return review_page(self.open.chart, self.page_address, self.survey, skipped)

    @property
    def view(self) -> PageView:
        """How things are now, what a sync brought meanwhile included."""
        if self.open.read_again() and self.recorder.visit is not None:
            self.recorder.visit = self._kept("visit") or None  # a dive that is named after an entry goes by its new id
        review, unseen = self.review, self.recorder.unseen.on(self.page_address)
        begun = {self.page_address, *self.recorder.unseen.pages}
        marks = tuple(
            replace(mark, state="in_work") if mark.state == "not_opened" and self.open.address(mark.path) in begun else mark
            for mark in self.open.marks
        )
        return PageView(
            structure=self.open.name,
            board=picture_page(self.open.views, self.open.chart, self.page, unseen, self._selected, self._touched),
            overview=OverviewPicture(self.open.design, marks, self._here, self.open.statuses),
            counts=Counts(review.alive, review.marked, len(review.unseen)),
            way=self._way,
            chosen=self._held if self._way == "status_first" else self._common_status(),
            signed=self.open.state(self._here) == "signed_off",
            done=self._done(),
            carry=self._carry,
            which=self._which,
            doubts=self._doubts,
            saw=self.recorder.by,
        )

    @contextmanager
    def as_started(self) -> Iterator[None]:
        """Within the block the desk is as a start finds it: nothing selected, in hand or carried, and nothing asked."""
        kept = self._selected, self._arm, self._held, self._carry, self._which, self._doubts
        self._selected, self._arm, self._held, self._carry, self._which, self._doubts = frozenset(), "", "", None, (), ""
        try:
            yield
        finally:
            self._selected, self._arm, self._held, self._carry, self._which, self._doubts = kept

    # What is tapped

    def show(self, structure: str, page: str = "") -> None:
        """Open another structure, at a page or at the first that nobody finished. Raises NothingSuch without a design."""
        self.open.read(structure)
        self._go(page or self.open.next_page() or self.open.design.pages[0].path)

    def open_page(self, path: str) -> None:
        """Show another page of the structure."""
        self._go(path)

    def touch_place(self, path: str) -> None:
        """Select a place, or mark it with the status in hand, or leave there what is carried."""
        if self._carry is not None:
            self._drop(self._carry, path)
        elif self._way == "status_first" and self._held:
            self._mark([path], "", self._held)
        elif self._way == "place_first":
            self._select(frozenset() if self._selected == {path} else frozenset({path}))
            self._ring(self.open.address(path))

    def touch_arm(self, number: int) -> None:
        """Select all that hangs from an arm, row or stretch, or mark it."""
        if self._carry is not None:
            return
        group = next(group for group in self.page.groups if group.number == number)
        arm = f"{self.page_address}.{number}"
        paths = [position.path for position in group.positions if self.open.hanging(position.path)]
        if self._way == "status_first" and self._held:
            self._mark(paths, arm, self._held)
        elif self._way == "place_first":
            again = self._selected == frozenset(paths)
            self._select(frozenset() if again else frozenset(paths), "" if again else arm)
            self._ring(arm)

    def pick_status(self, status: str) -> None:
        """Mark what is selected, or take the status in hand; tapping the one in hand puts it down."""
        if self._way == "status_first":
            self._held = "" if self._held == status else status
        elif self._selected:
            self._mark([self.open.path(place) for place in self.selection], self._arm, status)

    def pick_fragment(self, fragment: str) -> None:
        """Of two that hang in one place, this one is meant; with an empty name, neither."""
        status, where, self._pending, self._which = self._pending, self._touched, "", ()
        if fragment:
            self.record(lambda recorder: recorder.mark(where, fragment=fragment, status=status))

    def choose_way(self, way: Way) -> None:
        """Enter the other way round."""
        self.store.settings.put(way=way)
        self._way, self._held = way, ""
        self._select(frozenset())

    def sign_off(self) -> None:
        """Vouch for the page, and go to the next one that nobody finished, where there is one."""
        page, opened, off_board = self.page_address, self._opened, self.open.off_board(self.page)
        self.record(lambda recorder: recorder.sign_off(page, off_board, opened))
        self._doubts = page if self.recorder.doubts.on(page) else ""
        self._go(self.open.next_page(self._here) or self._here)

    def not_reached(self, where: str, reason: str | None = None) -> None:
        """Nobody looked at this page, or at the whole structure; go to the next page that nobody finished."""
        self.record(lambda recorder: recorder.not_reached(where, reason))
        self._go(self.open.next_page(self._here) or self._here)

    def undo(self) -> None:
        """Take the last thing back, and show where that was."""
        done = self.store.undo.last
        if done is None:
            return
        self.record(lambda recorder: recorder.undo())
        self._doubts = ""
        self._select(frozenset())
        if "/" in done.where:
            self._go_to(done.where)
            self._ring(done.where)

    def ask_later(self) -> None:
        """What is unlikely waits for its note in the summary."""
        self._doubts = ""

    # What is carried

    def take_up(self, carry: Carry | None) -> None:
        """Have something in hand, or with None put it down."""
        self._carry = carry
        self._select(frozenset())

    def _drop(self, carry: Carry, path: str) -> None:
        place, names = self.open.address(path), [hung.fragment for hung in self.open.hanging(path)]
        if carry.sort == "mother":
            if len(names) == 1 and place != carry.where:
                self.record(lambda recorder: recorder.cut(carry.where, names[0], replant=carry.replant))
                self.take_up(None)
                self._go_to(carry.where)
        elif carry.sort == "move" and names == [carry.fragment]:
            self.take_up(None)  # it is back where it was
        elif names and carry.taken != path:
            self._carry = replace(carry, taken=path)
        elif carry.sort == "cut":
            self.record(lambda recorder: recorder.cut(place, f"fragment:{carry.fragment}"))
            self._carry = replace(carry, taken="")
        else:
            self.record(lambda recorder: recorder.move(f"fragment:{carry.fragment}", place))
            self.take_up(None)

    # What is written

    def record(self, deed: Deed) -> Action | None:
        """Do something through the recorder, and know of it: `desk.record(lambda recorder: recorder.note(...))`."""
        action = deed(self.recorder)
        if action is not None:
            self.open.take(action.entries)
            self._touched = self._kept("touched")
        return action

    def _mark(self, paths: list[str], arm: str, status: str) -> None:
        """Mark one place, or all of an arm."""
        places = [self.open.address(path) for path in paths]
        if status == UNSEEN:
            if places:
                self.record(lambda recorder: recorder.leave_unseen(places, arm or None))
        elif arm:
            self.record(lambda recorder: recorder.mark_arm(arm, status=status))
        elif len(names := self.open.meant(paths[0])) > 1:
            self._ring(places[0])
            self._pending, self._which = status, names
        elif self._done() != Done(status, paths[0]):  # a finger that taps twice says nothing new
            self.record(lambda recorder: recorder.mark(places[0], status=status))

    # Inside

    def _go(self, path: str) -> None:
        self._here = self.open.design.page(path).path
        self._select(frozenset())
        self._opened: datetime = self.recorder.clock()
        self.store.settings.put(page=self.page_address)

    def _go_to(self, where: str) -> None:
        address = parse_address(where)
        if address.structure != self.open.name:
            self.open.read(address.structure)
            self._here = ""
        page = address.path.partition(".")[0]
        if page != self._here:
            self._go(page)

    def _select(self, paths: frozenset[str], arm: str = "") -> None:
        self._selected, self._arm, self._which, self._pending = paths, arm, (), ""

    def _ring(self, where: str) -> None:
        self._touched = where
        self.store.settings.put(touched=where)

    def _kept(self, name: str) -> str:
        value = self.store.settings.get(name)
        return value if isinstance(value, str) else ""

    def _common_status(self) -> str:
        unseen = self.recorder.unseen.on(self.page_address)
        chart = self.open.chart
        places = [self.open.address(path) for path in self._selected]
        found = {UNSEEN if place in unseen else status_here(chart, place, self.survey) or "" for place in places}
        return found.pop() if len(found) == 1 else ""

    def _done(self) -> Done | None:
        done = self.store.undo.last
        if done is None:
            return None
        what = done.label
        if what == "marked":
            line = self.store.line(parse_entry_id(done.entries[-1]))
            entry = None if line is None else read_entry(line)
            what = entry.status or entry.facts()[0][0] if isinstance(entry, ConditionSeen) else what
        return Done({"signed off": "signed_off", "unseen": UNSEEN}.get(what, what), self.open.path(done.where))
