"""What a crew can do besides saying how a coral is: with the place that is selected, the page, the tablet."""

from dataclasses import dataclass
from typing import Final, Literal, TypeAlias

from mobile.dive_desk import DiveDesk

__all__ = ["Offer", "OfferKey", "offers"]

OfferKey: TypeAlias = Literal[
    "move",
    "plant",
    "replant",
    "cut",
    "outplant",
    "found",
    "upkeep",
    "note",
    "not_reached",
    "read_back",
    "summary",
    "people",
    "wipe",
]


@dataclass(frozen=True, slots=True)
class Offer:
    """One thing that can be done; `can` says whether what is selected allows it."""

    key: OfferKey
    word: str
    can: bool = True


def _(text: str) -> str:
    """Marks a text for the catalogues; it is translated where it is shown."""
    return text


_REST: Final = (
    (
        Offer("upkeep", _("Upkeep")),
        Offer("note", _("Note")),
        Offer("not_reached", _("Not reached")),
        Offer("found", _("Found on the sand")),
    ),
    (
        Offer("read_back", _("Read back")),
        Offer("summary", _("Summary")),
        Offer("people", _("Who saw")),
        Offer("wipe", _("Wipe the screen")),
    ),
)


def offers(desk: DiveDesk) -> tuple[tuple[Offer, ...], ...]:
    """Three rows: with the coral or the place that is selected; with page and structure; with what was entered."""
    places = desk.selection
    single = len(places) == 1
    hanging = single and len(desk.open.hanging(desk.open.path(places[0]))) == 1
    free = single and not desk.open.hanging(desk.open.path(places[0]))
    plant = Offer("replant", _("Replant"), hanging) if hanging else Offer("plant", _("New coral"), free)
    move, cut = Offer("move", _("Move"), hanging), Offer("cut", _("Cut pieces"), hanging)
    return ((move, plant, cut, Offer("outplant", _("To the reef"), hanging)), *_REST)
