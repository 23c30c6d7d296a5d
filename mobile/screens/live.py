"""A screen that shows how things are now."""

from typing import Any

from mobile.screens.late import LateScreen
from mobile.widgets.look import LOOK

__all__ = ["LiveScreen"]


class LiveScreen(LateScreen):
    """`refresh` is called before it is shown, and when the language changes while it is."""

    def __init__(self, **kwargs: Any) -> None:
        super().__init__(**kwargs)
        LOOK.follow(self._reword, "words")

    def refresh(self, *_changed: object) -> None:
        """Show how things are now."""
        raise NotImplementedError

    def _reword(self, *_changed: object) -> None:
        if self.get_root_window() is not None:
            self.refresh()
