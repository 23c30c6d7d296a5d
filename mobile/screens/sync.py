"""Sending and fetching: one button, what it does in numbers, and what came back."""

from typing import TYPE_CHECKING, Final

from kivy.properties import BooleanProperty, ListProperty, NumericProperty, ObjectProperty, OptionProperty, StringProperty

from mobile.day import Day
from mobile.errands import Ended, Errand, Errands
from mobile.lookout import Lookout
from mobile.news import News
from mobile.receipt import Receipt, send_and_fetch, standstill
from mobile.screens.live import LiveScreen
from mobile.screens.moments import clock_text
from mobile.screens.troubles import trouble_text
from mobile.tally import VisitTally, tally_visits
from mobile.widgets.list_picker import Choice
from mobile.widgets.look import LOOK
from shared_schema.errors import CrosstreeError, NotAllowed, StorageError, Unreachable, WireError

if TYPE_CHECKING:
    from mobile.sync import Outcome, Progress

__all__ = ["SyncScreen"]

_QUIET_TRIES: Final = 2


class SyncScreen(LiveScreen):
    """Sends and fetches by `errands`, asked to or, where `lookout` lets it, by itself.

    `doing` says how far it is; what breaks is tried `tries` times before it is told. Events: `on_leave_sync`, `on_open(what)`
    for `news` and `questions`, `on_visit(id)` for a dive (empty for none), `on_synced` when a run has ended.
    """

    day: Day = ObjectProperty(None)
    errands: Errands = ObjectProperty(None)
    lookout: Lookout = ObjectProperty(None)
    busy = BooleanProperty(False)
    doing = StringProperty("")
    trouble = StringProperty("")
    state = OptionProperty("look", options=["good", "look", "stop"])
    says = StringProperty("")
    receipt = StringProperty("")
    news = NumericProperty(0)
    by_itself = BooleanProperty(True)
    visits = ListProperty()
    tries = NumericProperty(4)

    def __init__(self, **kwargs: object) -> None:
        for event in ("on_leave_sync", "on_open", "on_visit", "on_synced"):
            self.register_event_type(event)
        super().__init__(**kwargs)
        self.fbind("busy", self.refresh)

    def on_leave_sync(self) -> None:
        """The default: nothing."""

    def on_open(self, what: str) -> None:
        """The default: nothing."""

    def on_visit(self, visit: str) -> None:
        """The default: nothing."""

    def on_synced(self) -> None:
        """The default: nothing."""

    def refresh(self, *_changed: object) -> None:
        """Show what is here and what is there."""
        _, store = LOOK.words.text, self.day.store
        left = standstill(store)
        self.by_itself = self.lookout.on
        self.state = "good" if left.safe else "look"
        self.says = (
            _("Everything is at the server. It is safe to switch off.") if left.safe else _only_here(left.entries, left.photos)
        )
        self.receipt = _receipt_text(Receipt.read(store.settings))
        self.visits = [_visit_row(visit) for visit in tally_visits(store)]
        self.news = len(News(store).all)

    def switch(self) -> None:
        """Let it send by itself, or not."""
        self.lookout.switch(on=not self.lookout.on)
        self.refresh()

    def send(self, *, quiet: bool = False) -> None:
        """Send and fetch until nothing is left; or end that."""
        if self.busy and not quiet:
            self.doing = LOOK.words.text("Stopping …")
            self.errands.call_back()
            return
        tries = _QUIET_TRIES if quiet else int(self.tries)

        def work(errand: Errand) -> "Outcome":
            return send_and_fetch(errand.store, errand.sync(tries), errand.clock)

        self.trouble = ""
        if self.errands.start(work, self._ended, self._heard, quiet=quiet):
            self.doing = LOOK.words.text("Asking the server …")
            self.busy = True

    def _heard(self, progress: "Progress") -> None:
        _, count = LOOK.words.text, LOOK.words.count
        if progress.step == "exchange":
            self.doing = count("{n} entry exchanged", "{n} entries exchanged", progress.done)
            self.refresh()
        elif progress.step == "photos":
            self.doing = _("Photos: {done} of {total}").format(done=progress.done, total=progress.total)
        elif progress.step == "waiting":
            self.doing = _("No answer. Trying again …")

    def _ended(self, end: "Ended[Outcome]") -> None:
        self.busy, self.doing = False, ""
        error = end.trouble or (None if end.result is None else _error_of(end.result))
        self.trouble = "" if error is None else trouble_text(error)
        if end.result is None and end.trouble is None:
            self.doing = LOOK.words.text("Stopped. What was sent is sent; the rest waits here.")
        self.lookout.heard(answered=end.result is not None and end.result.state != "unreachable")
        self.refresh()
        self.dispatch("on_synced")


def _error_of(outcome: "Outcome") -> CrosstreeError | None:
    kinds: dict[str, type[CrosstreeError]] = {
        "unreachable": Unreachable,
        "not_allowed": NotAllowed,
        "refused": WireError,
        "failed": StorageError,
    }
    kind = kinds.get(outcome.state)
    return None if kind is None else kind(outcome.detail)


def _only_here(entries: int, photos: int) -> str:
    count = LOOK.words.count
    parts = []
    if entries:
        parts.append(count("{n} entry is only on this tablet.", "{n} entries are only on this tablet.", entries))
    if photos:
        parts.append(count("{n} photo is only on this tablet.", "{n} photos are only on this tablet.", photos))
    return " ".join(parts)


def _receipt_text(receipt: Receipt | None) -> str:
    _, count = LOOK.words.text, LOOK.words.count
    if receipt is None:
        return _("Nothing was sent from this tablet yet.")
    lines = [
        _("The server acknowledged at {time}:").format(time=clock_text(receipt.at)),
        count("{n} sent", "{n} sent", receipt.sent)
        + ", "
        + count("{n} received", "{n} received", receipt.received)
        + ", "
        + count("{n} photo", "{n} photos", receipt.photos),
        _("It holds {own} of this tablet, {all} in all.").format(own=receipt.number, all=sum(receipt.heads.values())),
    ]
    return "\n".join(lines)


def _visit_row(visit: VisitTally) -> Choice:
    _, count = LOOK.words.text, LOOK.words.count
    name = " ".join(part for part in (clock_text(visit.went_in) if visit.went_in else "", visit.place) if part)
    label = name or (_("Dive {id}").format(id=visit.visit) if visit.visit else _("Without a dive"))
    saved = count("{n} saved", "{n} saved", visit.saved)
    return Choice(visit.visit or "none", label, saved + ", " + count("{n} sent", "{n} sent", visit.sent))
