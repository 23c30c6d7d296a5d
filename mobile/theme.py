"""The colours of a screen besides those of conditions: one theme for the sun, one for the cabin.

Dark on light reads better in bright light (NUREG-0700). Text has a contrast of at least 7 on what it stands on, words and
outlines of conditions at least 10; the test works it out.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Final, Literal, TypeAlias

from mobile.palette import Colour, colour

__all__ = ["BRIGHT", "CABIN", "THEMES", "Theme", "ThemeName"]

ThemeName: TypeAlias = Literal["bright", "cabin"]


@dataclass(frozen=True, slots=True)
class Theme:
    """What lies on what.

    `text` and `muted` stand on `ground` and on `surface` (a tile, a button, a row); `line` parts them. `on_main` stands on
    `main` (the one thing to do next) and `on_danger` on `danger`. `outline` is round every condition sign, `ring` round
    what was touched last, `pressed` under a finger. `good`, `look` and `stop` are the readiness lights, each with what
    stands on it.
    """

    name: ThemeName
    ground: Colour
    surface: Colour
    pressed: Colour
    line: Colour
    text: Colour
    muted: Colour
    outline: Colour
    ring: Colour
    main: Colour
    on_main: Colour
    danger: Colour
    on_danger: Colour
    good: Colour
    on_good: Colour
    look: Colour
    on_look: Colour
    stop: Colour
    on_stop: Colour


BRIGHT: Final = Theme(
    name="bright",
    ground=colour("#FFFFFF"),
    surface=colour("#EEF2F4"),
    pressed=colour("#C9D6DD"),
    line=colour("#7C8A94"),
    text=colour("#0B1622"),
    muted=colour("#3D4B57"),
    outline=colour("#0B1622"),
    ring=colour("#0B1622"),
    main=colour("#0B4A5A"),
    on_main=colour("#FFFFFF"),
    danger=colour("#8C1616"),
    on_danger=colour("#FFFFFF"),
    good=colour("#0B5A32"),
    on_good=colour("#FFFFFF"),
    look=colour("#FFC629"),
    on_look=colour("#0B1622"),
    stop=colour("#8C1616"),
    on_stop=colour("#FFFFFF"),
)

CABIN: Final = Theme(
    name="cabin",
    ground=colour("#0B1622"),
    surface=colour("#1A2936"),
    pressed=colour("#3A4D5C"),
    line=colour("#5D7180"),
    text=colour("#F4F7F9"),
    muted=colour("#B9C6CF"),
    outline=colour("#FFFFFF"),
    ring=colour("#FFFFFF"),
    main=colour("#A6DCE8"),
    on_main=colour("#0B1622"),
    danger=colour("#FFB4A8"),
    on_danger=colour("#3A0606"),
    good=colour("#8ADDB0"),
    on_good=colour("#06281A"),
    look=colour("#FFC629"),
    on_look=colour("#0B1622"),
    stop=colour("#FFB4A8"),
    on_stop=colour("#3A0606"),
)

THEMES: Final[Mapping[ThemeName, Theme]] = {"bright": BRIGHT, "cabin": CABIN}
