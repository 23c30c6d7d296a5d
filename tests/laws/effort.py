"""How hard properties are tried: as hard as the profile says, or a good third of that where an example costs much."""

from typing import Final

from hypothesis import settings

__all__ = ["FEWER", "MORE"]

FEWER: Final = settings(max_examples=max(10, settings().max_examples * 2 // 5))
MORE: Final = settings(max_examples=settings().max_examples * 2)
