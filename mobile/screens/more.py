"""What else there is to do with a place, a page, a structure."""

from typing import Any

from kivy.properties import StringProperty

from mobile.dive_desk import DiveDesk
from mobile.offers import Offer, offers
from mobile.screens.late import LateScreen
from mobile.screens.page import undo_text
from mobile.widgets.buttons import BigButton
from mobile.widgets.look import LOOK

__all__ = ["MoreScreen"]


class MoreScreen(LateScreen):
    """Shows what is offered for what is selected. Events: `on_offer(key)`, `on_undo`, `on_leave_more`."""

    title = StringProperty("")
    place = StringProperty("")
    page = StringProperty("")
    undo_what = StringProperty("")

    def __init__(self, **kwargs: Any) -> None:
        for event in ("on_offer", "on_undo", "on_leave_more"):
            self.register_event_type(event)
        super().__init__(**kwargs)

    def on_offer(self, key: str) -> None:
        """The default: nothing."""

    def on_undo(self) -> None:
        """The default: nothing."""

    def on_leave_more(self) -> None:
        """The default: nothing."""

    def refresh(self, desk: DiveDesk) -> None:
        """Show what can be done now."""
        self.make()
        _ = LOOK.words.text
        places = [desk.open.path(place) for place in desk.selection]
        self.title = _("More")
        self.place = _("Tap a place first") if not places else " … ".join(dict.fromkeys((places[0], places[-1])))
        self.page = f"{desk.open.name} / {desk.page.path}"
        self.undo_what = undo_text(desk.view.done)
        for number, row in enumerate(offers(desk)):
            grid = self.ids[f"row_{number}"]
            grid.clear_widgets()
            for offer in row:
                grid.add_widget(self._button(offer))

    def _button(self, offer: Offer) -> BigButton:
        button = BigButton(text=LOOK.words.text(offer.word), name=f"offer:{offer.key}", off=not offer.can)
        button.bind(on_act=lambda *_: self.dispatch("on_offer", offer.key))
        return button
