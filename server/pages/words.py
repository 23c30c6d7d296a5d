"""What facts, values and kinds of entry are called on the pages."""

from collections.abc import Mapping
from typing import Final

from server.pages.wording import mark

__all__ = ["FACT_WORDS", "KIND_WORDS", "REASON_WORDS", "SORT_WORDS", "VALUE_WORDS"]

FACT_WORDS: Final[Mapping[str, str]] = {
    "status": mark("Condition"),
    "live_tissue": mark("Live tissue"),
    "bleaching": mark("Bleaching"),
    "predator": mark("Predator"),
    "signs": mark("Signs of disease"),
    "overgrowth": mark("Overgrowth"),
    "breakage": mark("Breakage"),
    "tie": mark("Tie"),
    "seen_at": mark("Seen at"),
    "length_mm": mark("Length"),
    "width_mm": mark("Width"),
    "height_mm": mark("Height"),
    "tle_mm": mark("Total linear extension"),
    "place": mark("Place"),
    "genet": mark("Genet"),
    "parent": mark("Cut from"),
    "donor": mark("Donor colony"),
    "accession": mark("Accession"),
    "tag": mark("Tag"),
    "tag_state": mark("State of the tag"),
    "name": mark("Name"),
    "species": mark("Species"),
    "aphia_id": mark("AphiaID"),
    "role": mark("Role"),
    "design": mark("Design"),
    "depth_cm": mark("Depth"),
    "location": mark("Location"),
    "structures": mark("Structures"),
    "opens": mark("Opens"),
    "closes": mark("Closes"),
    "people": mark("People"),
    "dive": mark("Dive"),
    "upkeep": mark("Upkeep"),
    "sign_off": mark("Sign-off"),
    "coverage": mark("Coverage"),
    "harvest": mark("Cut for"),
    "note": mark("Note"),
    "photo": mark("Photo"),
}

VALUE_WORDS: Final[Mapping[str, Mapping[str, str]]] = {
    "bleaching": {"none": mark("none"), "pale": mark("pale"), "partial": mark("partial"), "full": mark("full")},
    "predator": {
        "snail": mark("snail"),
        "fireworm": mark("fireworm"),
        "damselfish": mark("damselfish"),
        "butterflyfish": mark("butterflyfish"),
        "parrotfish": mark("parrotfish"),
        "other": mark("other"),
        "not_seen": mark("not seen"),
    },
    "signs": {
        "tissue_loss": mark("tissue loss"),
        "band": mark("band"),
        "spots": mark("spots"),
        "growth": mark("growth"),
        "colour": mark("change of colour"),
        "other": mark("other"),
    },
    "overgrowth": {
        "fire_coral": mark("fire coral"),
        "algae": mark("algae"),
        "hydroid": mark("hydroid"),
        "tunicate": mark("tunicate"),
        "sponge": mark("sponge"),
        "barnacle": mark("barnacle"),
        "other": mark("other"),
    },
    "breakage": {"none": mark("none"), "tips": mark("tips"), "branches": mark("branches"), "most": mark("most of it")},
    "tie": {"tight": mark("tight"), "loose": mark("loose"), "missing": mark("missing")},
    "tag_state": {
        "readable": mark("readable"),
        "unreadable": mark("unreadable"),
        "missing": mark("missing"),
    },
    "role": {"crew": mark("crew"), "supervisor": mark("supervisor")},
    "place": {
        "ground": mark("on the sand, not hung again"),
        "holding": mark("in hand, between places"),
        "removed": mark("taken out of the nursery"),
    },
    "upkeep": {
        "cleaned": mark("cleaned"),
        "tie_replaced": mark("tie replaced"),
        "predators_removed": mark("predators removed"),
        "float_checked": mark("float checked"),
        "anchor_checked": mark("anchor checked"),
        "arm_replaced": mark("arm replaced"),
        "tag_cleaned": mark("tag cleaned"),
        "repaired": mark("repaired"),
        "rehung": mark("hung again"),
    },
}
"""fact -> value -> its word."""

KIND_WORDS: Final[Mapping[str, str]] = {
    "fragment_planted": mark("planted"),
    "fragment_moved": mark("moved"),
    "condition_seen": mark("seen"),
    "size_measured": mark("measured"),
    "tag_checked": mark("tag checked"),
    "upkeep_done": mark("upkeep"),
    "page_signed_off": mark("page signed off"),
    "page_not_reached": mark("not reached"),
    "fragment_harvested": mark("cut for cuttings"),
    "fragment_outplanted": mark("outplanted"),
    "note_made": mark("note"),
    "photo_taken": mark("photo"),
    "dive_logged": mark("dive"),
    "genet_registered": mark("genet registered"),
    "structure_hung": mark("structure hung"),
    "person_listed": mark("person listed"),
    "survey_planned": mark("survey planned"),
    "ruling_given": mark("ruling"),
    "survey_signed_off": mark("survey signed off"),
    "entry_withdrawn": mark("withdrawn"),
}

SORT_WORDS: Final[Mapping[str, str]] = {
    "fragment": mark("Fragment"),
    "position": mark("Position"),
    "page": mark("Page"),
    "structure": mark("Structure"),
    "genet": mark("Genet"),
    "person": mark("Person"),
    "survey": mark("Survey"),
    "visit": mark("Dive"),
    "site": mark("Site"),
}

REASON_WORDS: Final[Mapping[str, str]] = {
    "unknown": mark("Of a kind that this program does not know. A newer program wrote it: update the server."),
    "newer": mark("Of a newer version than this program knows: update the server."),
    "damaged": mark("Damaged: its content cannot be read as what it says it is."),
    "not_allowed": mark("Not allowed: only the office rules."),
}
