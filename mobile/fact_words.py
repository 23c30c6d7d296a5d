"""Facts and their values as people read them, in any language."""

from collections.abc import Mapping
from typing import Any, Final

from mobile.deed_words import DEED_WORDS
from mobile.detail_topics import VALUE_WORDS
from mobile.palette import CONDITIONS
from mobile.words import Words

__all__ = ["fact_text", "value_text"]


def _(text: str) -> str:
    """Marks a text for the catalogues; it is translated where it is shown."""
    return text


_FACTS: Final[Mapping[str, str]] = {
    "status": _("Status"),
    "length_mm": _("Length"),
    "width_mm": _("Width"),
    "height_mm": _("Height"),
    "tle_mm": _("All branches"),
    "tag": _("Tag"),
    "tag_state": _("Tag"),
    "place": _("Place"),
    "seen_at": _("Seen at"),
    "genet": _("Genet"),
    "parent": _("Mother"),
    "note": _("Note"),
    "photo": _("Photo"),
    "upkeep": _("Upkeep"),
    "harvest": _("Cut"),
    "ground": _("on the sand"),
    "holding": _("in hand"),
    "removed": _("out of the nursery"),
}


def fact_text(words: Words, fact: str) -> str:
    """What a fact is called."""
    return words.text(_FACTS.get(fact) or DEED_WORDS.get(fact) or fact)


def value_text(words: Words, fact: str, value: Any) -> str:
    """A value of a fact: words for what has words, digits with their unit, and anything else as it is."""
    if isinstance(value, list | tuple):
        return ", ".join(value_text(words, fact, one) for one in value) or words.text(VALUE_WORDS["bleaching", "none"])
    if fact == "status" and value in CONDITIONS:
        return words.text(CONDITIONS[value].word)
    if fact == "live_tissue":
        return f"{value} %"
    if fact.endswith("_mm"):
        return f"{value} mm"
    if fact == "place" and value in _FACTS:
        return words.text(_FACTS[value])
    known = VALUE_WORDS.get((fact, str(value)))
    return str(value) if known is None else words.text(known)
