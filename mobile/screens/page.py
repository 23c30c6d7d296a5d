"""The page: where a crew spends its day."""

from typing import Any

from kivy.properties import BooleanProperty, NumericProperty, ObjectProperty, StringProperty
from kivy.uix.screenmanager import Screen

from mobile.desk import UNSEEN, Done, PageDesk, PageView
from mobile.palette import CONDITIONS
from mobile.widgets.look import LOOK

__all__ = ["PageScreen"]


class PageScreen(Screen):
    """Shows what a PageDesk says, and tells it what was tapped.

    Events: `on_leave_page` for the way back, `on_details` and `on_more` for what else there is.
    """

    desk = ObjectProperty(None, allownone=True)
    where = StringProperty("")
    counts = StringProperty("")
    undo_what = StringProperty("")
    signed = BooleanProperty(False)
    way = StringProperty("place_first")
    chosen = StringProperty("")
    parts = NumericProperty(1)
    part = NumericProperty(0)
    next_part = NumericProperty(-1)
    board = ObjectProperty(None)
    overview = ObjectProperty(None)

    def __init__(self, **kwargs: Any) -> None:
        for event in ("on_leave_page", "on_details", "on_more"):
            self.register_event_type(event)
        super().__init__(**kwargs)
        self._parts_seen: set[int] = set()
        # Held here too: a rule's ids hold nothing, and a column is without a parent while it changes sides.
        self._columns = [ids.__self__ for ids in (self.ids.map_column, self.ids.board, self.ids.deeds)]
        LOOK.bind(left_handed=self._arrange)
        LOOK.tongue.bind(words=self._refresh)
        self._arrange()

    def on_leave_page(self) -> None:
        """The default: nothing."""

    def on_details(self) -> None:
        """The default: nothing."""

    def on_more(self) -> None:
        """The default: nothing."""

    def on_desk(self, *_changed: object) -> None:
        """Show another desk."""
        self.show()

    def act(self, ask: str, *answer: Any) -> None:
        """Ask the desk for something and show what came of it."""
        desk: PageDesk = self.desk
        getattr(desk, ask)(*answer)
        self.show()

    def on_part(self, *_changed: object) -> None:
        """A part of the page was shown."""
        self._parts_seen.add(int(self.part))
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

    def show(self) -> None:
        """Show how things are."""
        view: PageView = self.desk.view
        _, count = LOOK.words.text, LOOK.words.count
        kind = {"level": _("Level"), "stretch": _("Stretch"), "row": _("Row")}[view.board.page.kind]
        self.where = f"{view.structure}  {kind} {view.board.page.path}"
        self.counts = "\n".join(
            (
                count("{n} alive", "{n} alive", view.counts.alive),
                count("{n} marked", "{n} marked", view.counts.marked),
                count("{n} unseen", "{n} unseen", view.counts.unseen),
            )
        )
        self.undo_what = _undo_text(view.done)
        self.signed, self.way, self.chosen = view.signed, view.way, view.chosen
        if self.board.picture is None or self.board.picture.page is not view.board.page:
            self._parts_seen = {0}
        self.board.picture = view.board
        self._look_for_parts()
        if self.overview.picture != view.overview:
            self.overview.picture = view.overview

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


def _undo_text(done: Done | None) -> str:
    if done is None:
        return ""
    _ = LOOK.words.text
    if done.what == "signed_off":
        return f"{_('Sign off')} {done.where}"
    letter = "?" if done.what == UNSEEN else LOOK.letter(CONDITIONS[done.what])
    return f"{letter}  {done.where}"
