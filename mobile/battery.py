"""How full the battery is, where the platform tells without a library of its own: Linux, by files."""

from dataclasses import dataclass
from pathlib import Path
from typing import Final

__all__ = ["Battery", "read_battery"]

_SUPPLIES: Final = Path("/sys/class/power_supply")


@dataclass(frozen=True, slots=True)
class Battery:
    """`percent` full, 0 to 100; `charging` while it is at a charger, or full."""

    percent: int
    charging: bool


def read_battery(supplies: Path = _SUPPLIES) -> Battery | None:
    """The tablet's battery, the emptiest of several; None where nobody tells."""
    found = [battery for folder in _folders(supplies) if (battery := _read(folder)) is not None]
    return min(found, key=lambda battery: battery.percent, default=None)


def _folders(supplies: Path) -> list[Path]:
    try:
        return sorted(supplies.iterdir())
    except OSError:
        return []


def _read(folder: Path) -> Battery | None:
    try:
        if (folder / "type").read_text().strip() != "Battery":
            return None
        scope = folder / "scope"
        if scope.exists() and scope.read_text().strip() == "Device":
            return None  # a mouse's or a pen's
        percent = int((folder / "capacity").read_text())
        status = (folder / "status").read_text().strip()
    except (OSError, ValueError):
        return None
    return Battery(min(100, max(0, percent)), status in ("Charging", "Full", "Not charging"))
