"""What a readiness light says, in the crew's language."""

from mobile.lights import ReadinessLight
from mobile.readiness import ENOUGH_BYTES
from mobile.widgets.look import LOOK

__all__ = ["light_name", "light_says"]


def light_name(light: ReadinessLight) -> str:
    """What it is about."""
    _ = LOOK.words.text
    return {
        "maps": _("Maps"),
        "clock": _("Clock"),
        "storage": _("Storage"),
        "battery": _("Battery"),
        "program": _("Program"),
    }[light.sort]


def light_says(light: ReadinessLight) -> str:
    """How it is, and what to do where that is not well."""
    return {"maps": _maps, "clock": _clock, "storage": _storage, "battery": _battery, "program": _program}[light.sort](light)


def _maps(light: ReadinessLight) -> str:
    _, count = LOOK.words.text, LOOK.words.count
    if light.state == "stop":
        return _("not loaded: tap Load")
    if light.bare:
        return _("no design for {names}: ask the office").format(names=", ".join(light.bare[:3]))
    return count("{n} structure", "{n} structures", light.figure or 0)


def _clock(light: ReadinessLight) -> str:
    _, count = LOOK.words.text, LOOK.words.count
    if light.figure is None:
        return _("not compared yet")
    if light.state == "good":
        return _("right")
    minutes = round(abs(light.figure) / 60)
    return count("{n} minute off: set it", "{n} minutes off: set it", minutes)


def _storage(light: ReadinessLight) -> str:
    _ = LOOK.words.text
    free = (light.figure or 0) / 1000
    if light.state == "good":
        return _("{size} GB free").format(size=f"{free:.1f}")
    return _("{size} GB free: make room for {least}").format(size=f"{free:.1f}", least=f"{ENOUGH_BYTES / 1e9:.1f}")


def _battery(light: ReadinessLight) -> str:
    _ = LOOK.words.text
    if light.figure is None:
        return _("not told here: look yourself")
    filled = f"{light.figure} %"
    return ", ".join((filled, _("charging"))) if light.charging else filled


def _program(_light: ReadinessLight) -> str:
    return LOOK.words.text("too old for some entries: update it")
