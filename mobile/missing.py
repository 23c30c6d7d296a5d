"""Corals that may have been found on the sand: those that were lost, and whichever carries a tag or goes by a name."""

import json
from contextlib import suppress

from mobile.chart import Hung
from mobile.store import Store
from shared_schema.errors import BadId
from shared_schema.ids import parse_tag, split_subject

__all__ = ["find_coral", "lost_from"]


def lost_from(store: Store, structure: str) -> tuple[Hung, ...]:
    """Those that hang on a structure by the record, and were not found there when last looked for."""
    return tuple(hung for hung in store.on_structure(structure).hung if not hung.here)


def find_coral(store: Store, typed: str) -> tuple[Hung, ...]:
    """The corals whose tag or name was typed, wherever they are; small letters and look-alikes are forgiven in tags."""
    text = typed.strip()
    if not text:
        return ()
    wanted = {text, text.upper()}
    with suppress(BadId):  # not every nursery's tags have a check character
        wanted.add(parse_tag(text))
    spoken: dict[str, None] = {}
    for word in sorted(wanted):
        found = store.database.rows("SELECT DISTINCT subject FROM entry WHERE subject = ?", (f"fragment:{word}",))
        said = f'"tag":{json.dumps(word, ensure_ascii=False)}'.encode()
        found += store.database.rows("SELECT DISTINCT subject FROM entry WHERE instr(raw, ?) > 0", (said,))
        spoken |= dict.fromkeys(row[0] for row in found if row[0].startswith("fragment:"))
    several = [store.fragment(split_subject(subject)[1]) for subject in spoken]
    return tuple(hung for hung in several if hung.fragment in wanted or hung.standing.value("tag") in wanted)
