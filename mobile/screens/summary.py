"""What was entered, page by page, and what still asks for a word; from here it goes to the sync."""

from collections.abc import Mapping
from typing import Any

from kivy.properties import BooleanProperty, ListProperty, StringProperty

from mobile.dive_summary import PageSum, Summary
from mobile.screens.doubt_words import doubt_text
from mobile.screens.late import LateScreen
from mobile.widgets.list_picker import Choice
from mobile.widgets.look import LOOK

__all__ = ["SummaryScreen"]


class SummaryScreen(LateScreen):
    """Shows a Summary.

    Events: `on_page(address)`; `on_ask(key)`, where the key is `doubt:<page>` or `question:<place>`; `on_undo`,
    `on_structures`, `on_send`, `on_leave_summary`.
    """

    title = StringProperty("")
    undo_what = StringProperty("")
    finished = BooleanProperty(False)
    pages = ListProperty()
    asking = ListProperty()

    def __init__(self, **kwargs: Any) -> None:
        for event in ("on_page", "on_ask", "on_undo", "on_structures", "on_send", "on_leave_summary"):
            self.register_event_type(event)
        super().__init__(**kwargs)

    def on_page(self, address: str) -> None:
        """The default: nothing."""

    def on_ask(self, key: str) -> None:
        """The default: nothing."""

    def on_undo(self) -> None:
        """The default: nothing."""

    on_structures = on_send = on_leave_summary = on_undo

    def refresh(self, summary: Summary, title: str, undo_what: str, names: Mapping[str, str]) -> None:
        """Show this."""
        _ = LOOK.words.text
        self.title, self.undo_what = title, undo_what
        self.finished = summary.finished
        self.pages = [Choice(f"{one.structure}/{one.path}", _page_text(one, names), _page_detail(one)) for one in summary.pages]
        self.asking = [
            *(Choice(f"doubt:{page}", doubt_text(doubts[0]), _("wants a note")) for page, doubts in summary.doubts),
            *(Choice(f"question:{place}", f"≠ {place}", _("records disagree")) for place in summary.questions),
        ]


def _page_text(page: PageSum, names: Mapping[str, str]) -> str:
    _ = LOOK.words.text
    kind = {"level": _("Level"), "stretch": _("Stretch"), "row": _("Row")}[page.kind]
    by = ", ".join(names.get(one, one) for one in page.by)
    state = {"signed_off": by, "not_reached": by, "in_work": _("in work"), "not_opened": ""}[page.state]
    return f"{page.structure}  {kind} {page.path}" + (f"\n{state}" if state else "")


def _page_detail(page: PageSum) -> str:
    _, count = LOOK.words.text, LOOK.words.count
    if page.state in ("not_opened", "not_reached"):
        return _("not opened") if page.state == "not_opened" else _("not reached")
    counts = [
        count("{n} alive", "{n} alive", page.alive),
        count("{n} marked", "{n} marked", page.marked),
        count("{n} unseen", "{n} unseen", page.unseen),
    ]
    return ", ".join(counts)
