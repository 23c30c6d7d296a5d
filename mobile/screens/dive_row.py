"""The row at the top of a dive's screens: the way back, what it is about, and undo, which is never out of sight."""

from typing import Any

from kivy.properties import StringProperty
from kivy.uix.boxlayout import BoxLayout

__all__ = ["DiveRow"]


class DiveRow(BoxLayout):
    """Shows `title`, and what undo takes back in `undo_what`. Events: `on_back`, `on_undo`."""

    title = StringProperty("")
    undo_what = StringProperty("")

    def __init__(self, **kwargs: Any) -> None:
        for event in ("on_back", "on_undo"):
            self.register_event_type(event)
        super().__init__(**kwargs)

    def on_back(self) -> None:
        """The default: nothing."""

    def on_undo(self) -> None:
        """The default: nothing."""
