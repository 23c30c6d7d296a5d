"""A voice, where the platform has one: another program on PATH, given a text and left to itself."""

import shutil
import subprocess
from collections.abc import Callable, Mapping
from typing import Any, Final

__all__ = ["Speaker"]

_VOICES: Final[Mapping[str, str]] = {"en": "en", "es": "es", "fr": "fr", "id": "id", "pt_BR": "pt-br"}
_PROGRAMS: Final[Mapping[str, Callable[[str], list[str]]]] = {
    "espeak-ng": lambda voice: ["-v", voice, "-s", "140", "--stdin"],
    "espeak": lambda voice: ["-v", voice, "-s", "140", "--stdin"],
    "say": lambda _: ["-f", "-"],  # in the voice that its user chose
}


class Speaker:
    """Says texts, one at a time. `which` finds a program on PATH, `start` starts one as subprocess.Popen does."""

    def __init__(
        self, which: Callable[[str], str | None] = shutil.which, start: Callable[..., "subprocess.Popen[bytes]"] = subprocess.Popen
    ) -> None:
        found = [(name, path) for name in _PROGRAMS if (path := which(name)) is not None]
        self._name, self._path = found[0] if found else ("", "")
        self._start = start
        self._speaking: Any = None

    @property
    def can(self) -> bool:
        """Whether there is a voice here."""
        return bool(self._path)

    def say(self, text: str, language: str) -> None:
        """Say a text in a language of mobile.words, and stop whatever was being said. Without a voice, nothing happens."""
        self.hush()
        if not self.can:
            return
        arguments = _PROGRAMS[self._name](_VOICES.get(language, language))
        try:
            self._speaking = self._start(
                [self._path, *arguments], stdin=subprocess.PIPE, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL
            )
            self._speaking.stdin.write(text.encode())
            self._speaking.stdin.close()
        except OSError:
            self._path = ""  # it does not work here: go on in text

    def hush(self) -> None:
        """Stop speaking."""
        if self._speaking is not None and self._speaking.poll() is None:
            self._speaking.terminate()
            self._speaking.wait(timeout=2)
        self._speaking = None
