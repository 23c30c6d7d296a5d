"""The structures that were loaded, and how far each is."""

from typing import Any

from kivy.properties import ListProperty, ObjectProperty, StringProperty

from mobile.screens.late import LateScreen
from mobile.widgets.list_picker import Choice

__all__ = ["StructuresScreen"]


class StructuresScreen(LateScreen):
    """Shows `choices`, one for each structure; `look_up` gives the StructureRow of one (see structure_list.py).

    Events: `on_structure(id)` when one was picked, `on_summary`, `on_undo`, `on_leave_structures`.
    """

    title = StringProperty("")
    undo_what = StringProperty("")
    choices = ListProperty()
    chosen = ListProperty()
    look_up = ObjectProperty(None)

    def __init__(self, **kwargs: Any) -> None:
        for event in ("on_structure", "on_summary", "on_undo", "on_leave_structures"):
            self.register_event_type(event)
        super().__init__(**kwargs)

    def on_structure(self, structure: str) -> None:
        """The default: nothing."""

    def on_summary(self) -> None:
        """The default: nothing."""

    on_undo = on_leave_structures = on_summary

    def refresh(self, title: str, structures: tuple[str, ...], here: str, undo_what: str) -> None:
        """Show these as they are now, the rows round `here` first, and what undo would take back."""
        self.make()
        self.title, self.undo_what, self.chosen = title, undo_what, [here] if here else []
        self.choices = [Choice(name, name) for name in structures]
        self.ids.picker.start = structures.index(here) if here in structures else 0

    def on_enter(self, *_args: object) -> None:
        """Read how far they are now."""
        self.ids.picker.fill()
