"""A tablet looks as its users like it, and starts whatever was kept."""

from dataclasses import asdict

import pytest
from hypothesis import given
from hypothesis import strategies as st
from pydantic import JsonValue

from mobile.preferences import PreferenceKeeper, Preferences
from mobile.theme import THEMES
from mobile.words import LANGUAGES

JSON: st.SearchStrategy[JsonValue] = st.one_of(
    st.none(), st.booleans(), st.integers(), st.floats(allow_nan=False), st.text(), st.lists(st.integers(), max_size=2)
)
PREFERENCES = st.builds(
    Preferences,
    language=st.sampled_from(list(LANGUAGES)),
    theme=st.sampled_from(list(THEMES)),
    left_handed=st.booleans(),
    factor=st.floats(0.3, 4),
    faint=st.booleans(),
)


class Memory:
    """Remembers in a dict."""

    def __init__(self, values: dict[str, JsonValue] | None = None) -> None:
        self.values = values or {}

    def get(self, name: str, default: JsonValue = None) -> JsonValue:
        """The value that was put last."""
        return self.values.get(name, default)

    def put(self, **values: JsonValue) -> None:
        """Keep values."""
        self.values.update(values)


@given(PREFERENCES)
def test_preferences_come_back_as_they_were_kept(wanted: Preferences) -> None:
    """What a user chose holds after a restart."""
    memory = Memory()
    PreferenceKeeper(memory).change(**asdict(wanted))
    assert PreferenceKeeper(memory).now == wanted


@given(st.fixed_dictionaries({}, optional=dict.fromkeys(asdict(Preferences()), JSON)))
def test_a_tablet_starts_whatever_it_remembers(values: dict[str, JsonValue]) -> None:
    """Damaged or foreign preferences are taken as never set: the look is always one that there is."""
    found = Preferences.read(Memory(values))
    assert found.language in LANGUAGES
    assert found.theme in THEMES
    assert 0.3 <= found.factor <= 4


def test_an_unknown_preference_is_refused() -> None:
    """A misspelt name is a mistake of the program, and nothing is kept."""
    memory = Memory()
    with pytest.raises(TypeError):
        PreferenceKeeper(memory).change(colour="blue")
    assert memory.values == {}
