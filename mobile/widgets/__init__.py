"""What the screens are made of."""

from pathlib import Path

__all__ = ["RULES"]

RULES = tuple(
    Path(__file__).with_name(name)
    for name in ("buttons.kv", "crew_bar.kv", "light.kv", "keyboard.kv", "list_picker.kv", "number_pad.kv", "sheet.kv")
)
"""The rules of the widgets, in the order in which they are loaded."""
