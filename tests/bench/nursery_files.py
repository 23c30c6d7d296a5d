"""Builds nursery files of any size, as somebody would type them."""

from collections.abc import Iterator

__all__ = ["nursery_csv"]

GENETS = 14
PLACES = [f"{level}.{arm}.{hole}" for level in range(1, 6) for arm in range(1, 5) for hole in range(1, 6)]


def nursery_csv(trees: int) -> bytes:
    """A table of `trees` common trees with a fragment in every position, the later half cut from the earlier."""
    return "\n".join(_lines(trees)).encode()


def _lines(trees: int) -> Iterator[str]:
    yield "record,id,design,position,genet,parent,tag,planted"
    yield from (f"genet,G{number:02}" for number in range(GENETS))
    yield from (f"structure,T{tree:04},tree" for tree in range(trees))
    half = (trees + 1) // 2
    for tree in range(trees):
        for place, path in enumerate(PLACES):
            parent = f"F{(tree - half) * 100 + place:06}" if tree >= half else ""
            genet = (tree % half) % GENETS
            name = tree * 100 + place
            yield f"fragment,F{name:06},,T{tree:04}/{path},G{genet:02},{parent},N{name:06},2026-0{1 + tree % 9}-15"
