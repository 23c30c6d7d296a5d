"""Who said what, as rows of a list."""

from collections.abc import Mapping

from mobile.fact_words import fact_text, value_text
from mobile.screens.moments import clock_text
from mobile.voices import Voice
from mobile.widgets.list_picker import Choice
from mobile.widgets.look import LOOK

__all__ = ["voice_choices"]


def voice_choices(voices: tuple[Voice, ...], names: Mapping[str, str]) -> list[Choice]:
    """A row for each word: what was said, and by whom and when; what is in dispute has the sign for that before it."""
    words = LOOK.words
    _ = words.text
    return [
        Choice(
            f"{voice.entry}/{voice.fact}",
            f"{'≠ ' if voice.open else ''}{fact_text(words, voice.fact)}: {value_text(words, voice.fact, voice.value)}",
            f"{_('Office') if voice.ruling else names.get(voice.by, voice.by)}  {clock_text(voice.when)}",
        )
        for voice in voices
    ]
