"""What the undo button calls the last thing done."""

from collections.abc import Mapping
from typing import Final

__all__ = ["DEED_WORDS"]


def _(text: str) -> str:
    """Marks a text for the catalogues; it is translated where it is shown."""
    return text


DEED_WORDS: Final[Mapping[str, str]] = {
    "signed_off": _("Sign off"),
    "not reached": _("Not reached"),
    "measured": _("Size"),
    "tag checked": _("Tag"),
    "planted": _("New coral"),
    "replanted": _("New coral"),
    "moved": _("Move"),
    "found on the ground": _("Found"),
    "harvested": _("Cut"),
    "outplanted": _("To the reef"),
    "upkeep": _("Upkeep"),
    "upkeep taken back": _("Upkeep"),
    "noted": _("Note"),
    "photographed": _("Photo"),
    "dive": _("Dive"),
    "live_tissue": _("Live tissue"),
    "bleaching": _("Bleaching"),
    "predator": _("Predator"),
    "signs": _("Signs"),
    "overgrowth": _("Overgrowth"),
    "breakage": _("Breakage"),
    "tie": _("Tie"),
}
"""By what a recorder calls an action, or by the fact that it states; statuses have letters of their own."""
