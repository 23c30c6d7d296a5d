"""Options for a scope: the place, the page or the structure that they are said of."""

from typing import Any

from kivy.properties import ListProperty, StringProperty
from kivy.uix.boxlayout import BoxLayout

from mobile.widgets.buttons import BigButton
from mobile.widgets.list_picker import Choice

__all__ = ["ScopePanel"]


class ScopePanel(BoxLayout):
    """Shows `about`, then `scopes` and `options` (Choice each) as buttons; `scope` holds, and so do the options `chosen`.

    Events: `on_pick_scope(key)` and `on_pick_option(key)`.
    """

    about = StringProperty("")
    scopes = ListProperty()
    options = ListProperty()
    scope = StringProperty("")
    chosen = ListProperty()

    def __init__(self, **kwargs: Any) -> None:
        for event in ("on_pick_scope", "on_pick_option"):
            self.register_event_type(event)
        super().__init__(**kwargs)
        for name in ("scopes", "options", "scope", "chosen"):
            self.fbind(name, self.fill)
        self.fill()

    def on_pick_scope(self, key: str) -> None:
        """The default: nothing."""

    def on_pick_option(self, key: str) -> None:
        """The default: nothing."""

    def fill(self, *_changed: object) -> None:
        """A button for each."""
        self._row(self.ids.scopes, self.scopes, [self.scope], "on_pick_scope")
        self._row(self.ids.options, self.options, self.chosen, "on_pick_option")

    def _row(self, grid: Any, choices: list[Choice], chosen: list[str], event: str) -> None:
        grid.clear_widgets()
        for choice in choices:
            button = BigButton(
                text=choice.text, name=f"{event[8:]}:{choice.key}", role="chosen" if choice.key in chosen else "plain"
            )
            button.bind(on_act=lambda _button, key=choice.key: self.dispatch(event, key))
            grid.add_widget(button)
