"""Keys for words and for codes: larger than a keyboard's. A keyboard that is plugged in types too."""

from typing import Any, Final

from kivy.base import EventLoop
from kivy.properties import BooleanProperty, NumericProperty, ObjectProperty, OptionProperty, StringProperty
from kivy.uix.boxlayout import BoxLayout

from mobile.invitation import CODE_LENGTH, code_state, plain_code, spaced_code
from mobile.widgets.buttons import BigButton
from shared_schema.ids import TAG_ALPHABET

__all__ = ["CodePad", "KeyPad", "KeyboardKey", "TextPad"]

_BACKSPACE: Final = 8
_ENTERS: Final = (13, 271)
_V: Final = 118
_LONGEST_SHOWN: Final = 70

_LETTERS: Final = ("1234567890", "qwertyuiop", "asdfghjkl-", "zxcvbnm.:/")
_OTHERS: Final = ("áàâäãåæçéè", "êëíìîïñóòô", "öõøœúùûüýÿ", ",;!?'()@#_")


class KeyboardKey(BigButton):
    """One key; `key` is what it types."""

    key = StringProperty("")

    def on_role(self, *_changed: object) -> None:
        """A key keeps its least size whatever its role."""


class KeyPad(BoxLayout):
    """What pads of keys share: `text` is what was typed, at most `most` characters; `on_done(text)` when it was confirmed."""

    text = StringProperty("")
    most = NumericProperty(60)
    shown = StringProperty("")

    def __init__(self, **kwargs: Any) -> None:
        self.register_event_type("on_done")
        super().__init__(**kwargs)
        # Held weakly by the window: a pad that is gone hears nothing more.
        EventLoop.window.bind(on_textinput=self._on_text, on_key_down=self._on_key)

    def on_done(self, text: str) -> None:
        """The default: nothing."""

    def press(self, key: str) -> None:
        """A character."""
        if len(self.text) < self.most and key.isprintable():
            self.text += key

    def erase(self) -> None:
        """Take the last character back."""
        self.text = self.text[:-1]

    def confirm(self) -> None:
        """Hand on what was typed."""
        self.dispatch("on_done", self.text.strip())

    def paste(self) -> None:
        """Type what was copied elsewhere."""
        from kivy.core.clipboard import Clipboard  # noqa: PLC0415  # looks for other programs when it is imported

        self.take(str(Clipboard.paste() or "").strip())

    def take(self, text: str) -> None:
        """Type a whole text."""
        for character in text:
            self.press(character)

    def _on_text(self, _window: object, text: str) -> bool:
        here = self.get_root_window() is not None
        if here:
            self.take(text)
        return here

    def _on_key(self, _window: object, key: int, _scan: int, _codepoint: str | None, modifiers: list[str]) -> bool:
        if self.get_root_window() is None:
            return False
        if key == _BACKSPACE:
            self.erase()
        elif key in _ENTERS:
            self.confirm()
        elif key == _V and "ctrl" in modifiers:
            self.paste()
        else:
            return False
        return True


class TextPad(KeyPad):
    """A keyboard for names, addresses and notes. `shift` makes the next letter a capital; `others` shows accents and signs."""

    shift = BooleanProperty(False)
    others = BooleanProperty(False)
    keys = ObjectProperty(None)

    def __init__(self, **kwargs: Any) -> None:
        super().__init__(**kwargs)
        self._keys = [KeyboardKey(least_mm=15, most=34) for _ in range(40)]
        for key in self._keys:
            key.bind(on_act=self._tell)
            self.keys.add_widget(key)
        for name in ("shift", "others"):
            self.fbind(name, self.letter)
        self.letter()
        self.on_text()

    def on_text(self, *_changed: object) -> None:
        """Show the end of what was typed, where not all of it fits."""
        tail = self.text[-_LONGEST_SHOWN:]
        self.shown = ("…" if len(tail) < len(self.text) else "") + tail + "|"

    def letter(self, *_changed: object) -> None:
        """Write on the keys what they type."""
        characters = "".join(_OTHERS if self.others else _LETTERS)
        for key, character in zip(self._keys, characters, strict=True):
            key.key = character.upper() if self.shift and len(character.upper()) == 1 else character
            key.text, key.name = key.key, f"key:{character}"

    def _tell(self, key: KeyboardKey) -> None:
        self.press(key.key)
        self.shift = False


class CodePad(KeyPad):
    """Keys for a one-time code, which is checked as it is typed: `state` is `more`, `good` or `slip`.

    A whole `<address>#<code>` may be pasted: then `on_whole(text)`.
    """

    state = OptionProperty("more", options=["more", "good", "slip"])
    keys = ObjectProperty(None)

    def __init__(self, **kwargs: Any) -> None:
        self.register_event_type("on_whole")
        super().__init__(most=CODE_LENGTH, **kwargs)
        for character in TAG_ALPHABET:
            key = KeyboardKey(key=character, text=character, name=f"key:{character}", least_mm=18, most=40)
            key.bind(on_act=lambda pressed: self.press(pressed.key))
            self.keys.add_widget(key)
        self.on_text()

    def on_whole(self, text: str) -> None:
        """The default: nothing."""

    def press(self, key: str) -> None:
        """A character of a code, small or a look-alike too; others type nothing."""
        character = plain_code(key)
        if character and character in TAG_ALPHABET:
            super().press(character)

    def take(self, text: str) -> None:
        """A whole invitation is handed on as it is."""
        if "#" in text:
            self.dispatch("on_whole", text)
        else:
            super().take(text)

    def confirm(self) -> None:
        """Hand on a code that is right, and no other."""
        if self.state == "good":
            super().confirm()

    def on_text(self, *_changed: object) -> None:
        """Check what is there."""
        self.state = code_state(self.text)
        self.shown = spaced_code(self.text.ljust(CODE_LENGTH, "·"))
