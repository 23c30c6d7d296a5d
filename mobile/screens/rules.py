"""The rules that say what screens and widgets look like, in files of their own."""

from functools import cache
from pathlib import Path

from kivy.lang import Builder

from mobile.widgets import RULES as WIDGET_RULES
from mobile.widgets.look import offer_to_rules

__all__ = ["load_rules"]

_RULES = (
    "rows.kv",
    "page.kv",
    "settings.kv",
    "calibrate.kv",
    "enrol.kv",
    "scan.kv",
    "home.kv",
    "aboard.kv",
    "load.kv",
    "sync.kv",
    "log.kv",
    "tasks.kv",
    "structures.kv",
    "details.kv",
    "more.kv",
    "scope_panel.kv",
    "read_back.kv",
    "summary.kv",
    "training.kv",
)


@cache
def load_rules() -> None:
    """Load every rule, once in a process: a file loaded twice would draw everything twice."""
    offer_to_rules()
    for path in (*WIDGET_RULES, *(Path(__file__).with_name(name) for name in _RULES)):
        Builder.load_file(str(path), encoding="utf-8")
