"""What may lie over a screen, filled as in use."""

from typing import Any

from kivy.uix.anchorlayout import AnchorLayout
from kivy.uix.boxlayout import BoxLayout
from kivy.uix.widget import Widget

from mobile.widgets.light import Light
from mobile.widgets.list_picker import Choice, ListPicker
from mobile.widgets.number_pad import NumberPad
from mobile.widgets.sheet import Banner, ScreenLock, Sheet

__all__ = ["LAYERS", "lights", "lock", "notice", "people", "temperature"]

NAMES = ("Ana", "Budi", "Chloé", "Dewi", "Elías", "Fatou", "Gil", "Hana", "Iris", "João", "Kofi", "Lúcia")


def people() -> Any:
    """A list with more rows than fit."""
    sheet = Sheet(title="Details")
    choices = [Choice(name.lower(), name, "crew") for name in NAMES]
    sheet.add_widget(ListPicker(choices=choices, chosen=["budi"]))
    return sheet


def temperature() -> Any:
    """A number that is asked for."""
    middle = AnchorLayout()
    middle.add_widget(NumberPad(title="Details", unit="°C", decimal=True, digits="27.5"))
    sheet = Sheet(title="T07", closes="Back", close_role="plain")
    sheet.add_widget(middle)
    return sheet


def lights() -> Any:
    """Three readiness lights."""
    sheet = Sheet(title="Details")
    rows = BoxLayout(orientation="vertical", spacing=20)
    for state, about, says in (("good", "T07", ""), ("look", "L1", "80 %"), ("stop", "B1", "0 %")):
        rows.add_widget(Light(state=state, about=about, says=says))
    rows.add_widget(Widget())
    sheet.add_widget(rows)
    return sheet


def notice() -> Any:
    """A notice."""
    return Banner(state="look", text="T07 4.2.5", pos_hint={"top": 1})


def lock() -> Any:
    """The lock for wiping, with a clock that stands still."""
    return ScreenLock(every_second=lambda call: call)


LAYERS = (people, temperature, lights, notice, lock)
