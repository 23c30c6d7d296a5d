"""The rules that say what screens and widgets look like, in files of their own."""

from functools import cache
from pathlib import Path

from kivy.lang import Builder

from mobile.widgets import RULES as WIDGET_RULES
from mobile.widgets.look import offer_to_rules

__all__ = ["load_rules", "load_rules_of"]

_EVERYWHERE = ("rows", "page", "dive_row", "scope_panel")


@cache
def load_rules() -> None:
    """Load the rules that every start needs, once in a process: a file loaded twice would draw everything twice."""
    offer_to_rules()
    for path in WIDGET_RULES:
        Builder.load_file(str(path), encoding="utf-8")
    for name in _EVERYWHERE:
        load_rules_of(name)


@cache
def load_rules_of(name: str) -> None:
    """Load a screen's own file of rules, when it is built for the first time."""
    Builder.load_file(str(Path(__file__).with_name(f"{name}.kv")), encoding="utf-8")
