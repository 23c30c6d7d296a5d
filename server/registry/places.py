"""Whether every position and every tag still has one fragment once a file is loaded."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Final

from server.registry.known import Known, KnownFragment
from server.registry.problems import Problems
from server.registry.rows import Registry, Row
from shared_schema.designs import Design
from shared_schema.errors import BadId
from shared_schema.ids import parse_address, parse_tag, structure_of_place

__all__ = ["check_once", "check_room"]


@dataclass(frozen=True, slots=True)
class _Single:
    """Something that only one fragment may have: under which heading, in words, as the record has it, and as it will be."""

    heading: str
    words: str
    now: Callable[[KnownFragment], str | None]
    after: Callable[[Row, KnownFragment | None], str | None]


def check_once(fragments: Mapping[str, Row], known: Known, problems: Problems) -> None:
    """No two fragments of file and record in one position or with one tag, where the file is what brings that about.

    What the record has twice already is a discrepancy of the record, and does not stop a file that says the same.
    """
    for single in (_POSITION, _TAG):
        taken: dict[str, Row] = {}
        for row in fragments.values():
            value = single.after(row, known.fragments.get(row.name)) if "place" in row.fields else None
            if value is None:
                continue
            first = taken.setdefault(value, row)
            if first is not row and not (_stays(single, row, value, known) and _stays(single, first, value, known)):
                reason = f"{row.name} and {first.name} ({first.where}) cannot both {single.words}"
                row.blame(problems, single.heading, reason)
        for name, held in known.fragments.items():
            value = single.now(held)
            there = taken.get(value) if value is not None and name not in fragments else None
            if there is not None and value is not None and not _stays(single, there, value, known):
                there.blame(problems, single.heading, f"{there.name} and {name} (in the record) cannot both {single.words}")


def _stays(single: _Single, row: Row, value: str, known: Known) -> bool:
    held = known.fragments.get(row.name)
    return held is not None and single.now(held) == value


def _position_now(held: KnownFragment) -> str | None:
    return held.now.place if held.now.here else None


def _position_after(row: Row, held: KnownFragment | None) -> str | None:
    # What a survey said of the place later than the standing facts stays true, and so does a loss.
    if held is not None and (held.placed or (not held.now.here and _hangs(held.now.place))):
        return _position_now(held)
    place: str = row.fields["place"]
    return place if _hangs(place) else None


def _tag_now(held: KnownFragment) -> str | None:
    return _tag_key(held.now.tag) if held.now.tag is not None and held.now.here else None


def _tag_after(row: Row, held: KnownFragment | None) -> str | None:
    if _position_after(row, held) is None:
        return None
    tag = row.fields.get("tag") or (held.now.tag if held is not None else None)
    return None if tag is None else _tag_key(tag)


def _hangs(place: str | None) -> bool:
    return place is not None and structure_of_place(place) is not None


def _tag_key(tag: str) -> str:
    try:
        return parse_tag(tag)
    except BadId:
        return tag


_POSITION: Final = _Single("position", "hang at one position", _position_now, _position_after)
_TAG: Final = _Single("tag", "carry one tag", _tag_now, _tag_after)


def check_room(rows: Registry, known: Known, designs: Mapping[str, Design], problems: Problems) -> None:
    """A structure that gets another design must keep a position for every fragment that hangs on it."""
    changed = {name for name in rows["structure"] if name in known.designs and designs[name] != known.designs[name]}
    if not changed:
        return
    homeless: dict[str, list[str]] = {}
    for name, held in known.fragments.items():
        row = rows["fragment"].get(name)
        place = _position_now(held) if row is None or "place" not in row.fields else _position_after(row, held)
        if place is not None and structure_of_place(place) in changed:
            address = parse_address(place)
            try:
                designs[address.structure].position(address.path)
            except LookupError:
                homeless.setdefault(address.structure, []).append(f"{name} (at {address.path})")
    for structure, names in homeless.items():
        shown = ", ".join(sorted(names)[:3]) + (f" and {len(names) - 3} more" if len(names) > 3 else "")
        reason = f"this design has no position for {shown}: move what hangs there first, or keep the design"
        rows["structure"][structure].blame(problems, "design", reason)
