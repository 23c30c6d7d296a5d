"""Settings of this tablet: language, theme, hand, the size of things, the last visit."""

from typing import Any

from kivy.properties import ObjectProperty

from mobile.screens.late import LateScreen
from mobile.widgets.buttons import BigButton
from mobile.widgets.look import LOOK
from mobile.words import LANGUAGES

__all__ = ["SettingsScreen"]


class SettingsScreen(LateScreen):
    """Shows the preferences in force. `change(**values)` is called with what was chosen.

    Events: `on_leave_settings`, `on_calibrate` and `on_practise`.
    """

    preferences = ObjectProperty(None)
    change = ObjectProperty(None)

    def __init__(self, **kwargs: Any) -> None:
        for event in ("on_leave_settings", "on_calibrate", "on_practise"):
            self.register_event_type(event)
        super().__init__(**kwargs)

    def made(self) -> None:
        """A button for each language."""
        for code, name in LANGUAGES.items():
            button = BigButton(text=name, name=f"language:{code}")
            button.bind(on_act=self._speak)
            self.ids.languages.add_widget(button)
        self.on_preferences()

    def on_leave_settings(self) -> None:
        """The default: nothing."""

    def on_calibrate(self) -> None:
        """The default: nothing."""

    def on_practise(self) -> None:
        """The default: nothing."""

    def on_preferences(self, *_changed: object) -> None:
        """Frame the language in force."""
        self.make()
        for button in self.ids.languages.children:
            button.role = "chosen" if button.name == f"language:{LOOK.words.language}" else "plain"

    def _speak(self, button: BigButton) -> None:
        self.change(language=button.name.partition(":")[2])
