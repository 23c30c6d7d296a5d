"""A slip: observations as lines of JSON, one action a line, for scripts and for what was typed elsewhere.

Each line has one key that says what was done, and where:

    {"by": "ana", "at": "T01/3.2.4", "status": "bleached", "live_tissue": 60}
    {"by": "ana", "arm": "T01/3.2", "status": "alive"}
    {"by": "ben", "sign_off": "T01/3", "unseen": ["T01/3.4.5"]}
    {"by": "ben", "not_reached": "T01/4", "reason": "current"}

and likewise `measure`, `check_tag`, `plant`, `replant`, `move` (with `to`), `on_ground`, `harvest`, `outplant` (with
`site`), `upkeep` (with `work`), `note` (with `text`), `photo` (with `file`), `dive` (a list of people) and `undo`. On any
line: `by`, `typed_by`, `survey`.
"""

import json
from collections.abc import Callable, Iterable, Iterator, Mapping
from datetime import datetime
from pathlib import Path
from typing import Any, Final

from mobile.recorder import Action, Recorder
from mobile.store import Store
from shared_schema.errors import SchemaError

__all__ = ["DEEDS", "record_slip"]

_Deed = Callable[[Recorder, Any, dict[str, Any]], Action | None]

DEEDS: Final[Mapping[str, _Deed]] = {
    "at": lambda recorder, where, said: recorder.mark(where, **said),
    "arm": lambda recorder, where, said: recorder.mark_arm(where, **said),
    "measure": lambda recorder, where, said: recorder.measure(where, **said),
    "check_tag": lambda recorder, where, said: recorder.check_tag(where, **said),
    "plant": lambda recorder, where, said: recorder.plant(where, **said),
    "replant": lambda recorder, where, said: recorder.replant(where, **said),
    "move": lambda recorder, where, said: recorder.move(where, said.pop("to"), **said),
    "on_ground": lambda recorder, where, said: recorder.found_on_ground(where, **said),
    "harvest": lambda recorder, where, said: recorder.harvest(where, **said),
    "outplant": lambda recorder, where, said: recorder.outplant(where, **said),
    "upkeep": lambda recorder, where, said: recorder.upkeep(where, **said),
    "note": lambda recorder, where, said: recorder.note(where, **said),
    "photo": lambda recorder, where, said: recorder.photo(where, Path(said.pop("file")), **said),
    "dive": lambda recorder, people, said: recorder.log_dive(people, **said),
    "sign_off": lambda recorder, where, said: recorder.sign_off(where, **said),
    "not_reached": lambda recorder, where, said: recorder.not_reached(where, **said),
    "undo": lambda recorder, _, said: recorder.undo(**said),
}
"""What a line can say -> what is done."""


def record_slip(store: Store, lines: Iterable[str], survey: str, clock: Callable[[], datetime]) -> Iterator[Action]:
    """Do what the lines say, one after another; each is on disk when its action comes out.

    Raises SchemaError, naming the line, where one makes no sense; what came before it is recorded.
    """
    visits: dict[tuple[str, str], str | None] = {}
    for number, line in enumerate(lines, start=1):
        if not line.strip():
            continue
        try:
            said = _read(line)
            by, typed_by, of = said.pop("by"), said.pop("typed_by", None), said.pop("survey", survey)
            deed = next(name for name in DEEDS if name in said)
            recorder = Recorder(store, of, by, clock, typed_by, visits.get((of, by)))
            done = DEEDS[deed](recorder, said.pop(deed), said)
        except KeyError as error:
            raise SchemaError(f"line {number}: {error} is missing: {line.strip()[:80]}") from error
        except StopIteration:
            known = ", ".join(DEEDS)
            raise SchemaError(f"line {number} says nothing to do: {line.strip()[:80]}: write one of {known}") from None
        except (TypeError, SchemaError) as error:
            raise SchemaError(f"line {number}: {error}") from error
        visits[of, by] = recorder.visit
        if done is not None:
            yield done


def _read(line: str) -> dict[str, Any]:
    try:
        said = json.loads(line)
    except ValueError as error:
        raise SchemaError(f"no JSON ({error}): {line.strip()[:80]}") from error
    if not isinstance(said, dict):
        raise SchemaError(f"no JSON object: {line.strip()[:80]}")
    return said
