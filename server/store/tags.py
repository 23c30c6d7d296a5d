"""What two tags have in common that may be one: capitals, blanks, strokes and look-alike letters make no difference."""

from typing import Final

__all__ = ["tag_key"]

_LOOKALIKES: Final = str.maketrans({"O": "0", "I": "1", "L": "1", "U": "V", " ": None, "-": None})


def tag_key(tag: str) -> str:
    """The same for tags that may be one, and for some that are not: shared_schema.ids.parse_tag decides."""
    return tag.upper().translate(_LOOKALIKES)
