"""The page: where a crew spends its day."""

from typing import Any, Final

from kivy.clock import Clock
from kivy.properties import BooleanProperty, NumericProperty, ObjectProperty, StringProperty
from kivy.uix.screenmanager import Screen

from mobile.deed_words import DEED_WORDS
from mobile.desk import UNSEEN, Carry, Done, PageDesk, PageView
from mobile.overview import OverviewPicture
from mobile.palette import CONDITIONS
from mobile.widgets.look import LOOK
from shared_schema.errors import CrosstreeError

__all__ = ["PageScreen", "undo_text"]

_MAP_S: Final = 0.25  # the map takes its colours when the finger rests that long: it is the most to draw


class PageScreen(Screen):
    """Shows what a PageDesk says, and tells it what was tapped. `crew` gives people's names by their ids.

    Events: `on_leave_page` for the way back, `on_details` and `on_more` for what else there is; `on_which(fragments)` where
    two hang in the place that was marked, `on_doubts(page)` where something about a signed page is unlikely, `on_finished`
    when the last page was signed off, `on_trouble(error)` where the desk could not do what was asked.
    """

    desk = ObjectProperty(None, allownone=True)
    crew = ObjectProperty(dict)
    where = StringProperty("")
    saw = StringProperty("")
    counts = StringProperty("")
    undo_what = StringProperty("")
    carried = StringProperty("")
    signed = BooleanProperty(False)
    way = StringProperty("place_first")
    chosen = StringProperty("")
    parts = NumericProperty(1)
    part = NumericProperty(0)
    next_part = NumericProperty(-1)
    board = ObjectProperty(None)
    overview = ObjectProperty(None)

    def __init__(self, **kwargs: Any) -> None:
        for event in ("on_leave_page", "on_details", "on_more", "on_which", "on_doubts", "on_finished", "on_trouble"):
            self.register_event_type(event)
        super().__init__(**kwargs)
        self._parts_seen: set[int] = set()
        self._map: OverviewPicture | None = None
        self._signed: PageView | None = None
        self._follow_then = Clock.create_trigger(self._follow)
        self._follow_soon = Clock.create_trigger(self._after_this_frame)
        self._colour_map_soon = Clock.create_trigger(self._colour_map, _MAP_S)
        # Held here too: a rule's ids hold nothing, and a column is without a parent while it changes sides.
        self._columns = [ids.__self__ for ids in (self.ids.map_column, self.ids.board, self.ids.deeds)]
        self._foot, self._statuses, self._strip = (ids.__self__ for ids in (self.ids.foot, self.ids.statuses, self.ids.strip))
        self.remove_widget(self._strip)
        LOOK.follow(self._arrange, "left_handed")
        LOOK.follow(self._refresh, "words")
        self._arrange()

    def on_leave_page(self) -> None:
        """The default: nothing."""

    on_details = on_more = on_finished = on_leave_page

    def on_which(self, fragments: tuple[str, ...]) -> None:
        """The default: nothing."""

    def on_doubts(self, page: str) -> None:
        """The default: nothing."""

    def on_trouble(self, error: CrosstreeError) -> None:
        """The default: it is not hidden."""
        raise error

    def on_desk(self, *_changed: object) -> None:
        """Show another desk."""
        if self.desk is not None:
            self.show()

    def act(self, ask: str, *answer: Any) -> None:
        """Ask the desk for something and show what came of it."""
        desk: PageDesk = self.desk
        try:
            getattr(desk, ask)(*answer)
        except CrosstreeError as error:
            self.show()
            self.dispatch("on_trouble", error)
            return
        view = self.show()
        if view.which:
            self.dispatch("on_which", view.which)
        if ask == "sign_off":
            self._signed = view
            self._follow_soon()

    def _after_this_frame(self, *_when: object) -> None:
        self._follow_then()

    def _follow(self, *_when: object) -> None:
        """What follows from a signature, after the frame that shows it: to sum up or to ask takes longer."""
        signed, self._signed = self._signed, None
        if signed is None or self.get_root_window() is None:
            return
        if all(page.state in ("signed_off", "not_reached") for page in signed.overview.pages):
            self.dispatch("on_finished")
        if signed.doubts:
            self.dispatch("on_doubts", signed.doubts)

    def show_part(self, part: int) -> None:
        """A part of the page was drawn."""
        self._parts_seen.add(part)
        self._look_for_parts()

    def on_parts(self, *_changed: object) -> None:
        """The page was cut into parts."""
        self._look_for_parts()

    def _look_for_parts(self) -> None:
        unseen = [part for part in range(int(self.parts)) if part not in self._parts_seen]
        self.next_part = -1 if self.signed or not unseen else unseen[0]

    def go_on(self) -> None:
        """Show the part that was not shown yet; sign the page off where there is none: nobody vouches for the unseen."""
        if self.next_part >= 0:
            self.board.part = self.next_part
        else:
            self.act("sign_off")

    def show(self) -> PageView:
        """Show how things are."""
        view: PageView = self.desk.view
        _, count = LOOK.words.text, LOOK.words.count
        kind = {"level": _("Level"), "stretch": _("Stretch"), "row": _("Row")}[view.board.page.kind]
        self.where = f"{view.structure}  {kind} {view.board.page.path}"
        self.saw = self.crew().get(view.saw, view.saw)
        self.counts = "\n".join(
            (
                count("{n} alive", "{n} alive", view.counts.alive),
                count("{n} marked", "{n} marked", view.counts.marked),
                count("{n} unseen", "{n} unseen", view.counts.unseen),
            )
        )
        self.undo_what = undo_text(view.done)
        self.signed, self.way, self.chosen = view.signed, view.way, view.chosen
        self._show_carried(view.carry)
        if self.board.picture is None or self.board.picture.page is not view.board.page:
            self._parts_seen = set()
        self.board.picture = view.board
        self._look_for_parts()
        self._show_overview(view.overview)
        return view

    @property
    def settled(self) -> bool:
        """Whether the map has its colours too."""
        return not self._colour_map_soon.is_triggered

    def _show_overview(self, picture: OverviewPicture) -> None:
        """The map's pages at once; the colours of its points a little later."""
        shown: OverviewPicture | None = self.overview.picture
        self._map = picture
        if shown is None or (shown.design, shown.pages, shown.here) != (picture.design, picture.pages, picture.here):
            self._colour_map()
        elif shown.statuses != picture.statuses:
            self._colour_map_soon.cancel()
            self._colour_map_soon()

    def _colour_map(self, *_when: object) -> None:
        self.overview.picture = self._map

    def _show_carried(self, carry: Carry | None) -> None:
        self.carried = "" if carry is None else _carry_text(carry)
        wanted = self._statuses if carry is None else self._strip
        if wanted.parent is not self._foot:
            self._foot.clear_widgets()
            self._foot.add_widget(wanted)

    def _refresh(self, *_changed: object) -> None:
        if self.desk is not None:
            self.show()

    def _arrange(self, *_changed: object) -> None:
        """The buttons that are tapped most lie on the side of the hand that taps."""
        middle = self.ids.middle
        for column in self._columns:
            column.parent.remove_widget(column)
        for column in reversed(self._columns) if LOOK.left_handed else self._columns:
            middle.add_widget(column)


def undo_text(done: Done | None) -> str:
    """What the undo button takes back, and where that was."""
    if done is None:
        return ""
    if done.what == UNSEEN:
        return f"?  {done.where}"
    if done.what in CONDITIONS:
        return f"{LOOK.letter(CONDITIONS[done.what])}  {done.where}"
    return f"{LOOK.words.text(DEED_WORDS.get(done.what, done.what))} {done.where}".strip()


def _carry_text(carry: Carry) -> str:
    _ = LOOK.words.text
    if carry.taken:
        return _("{place} is taken. Tap it again to hang both there, or tap a free place.").format(place=carry.taken)
    if carry.sort == "mother":
        return _("Tap the mother of the new coral at {place}.").format(place=carry.where)
    if carry.sort == "cut":
        return _("Tap each place where a piece of {coral} hangs now.").format(coral=carry.fragment)
    return _("Tap the place where {coral} hangs now.").format(coral=carry.fragment)
