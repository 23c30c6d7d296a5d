"""The kinds of entry: small facts in the past tense that are written once and never changed.

Each entry is one JSON object on one line. It belongs to one *group*, a survey and a subject, and states one or more
facts of that subject; each fact is a *slot* of its own (see facts.py, fold.py). `replaces` names the entries of the group
that its author had in front of them.

What cannot be understood is not refused: `read_entry` says why (`EntryNotUnderstood`), and whoever stores entries keeps
the line as it came.
"""

import json
from typing import Annotated, Final, TypeAlias

from pydantic import Field, TypeAdapter, ValidationError
from pydantic_core import from_json

from shared_schema.envelope import VERSION, BaseEntry
from shared_schema.errors import BadFrame, EntryNotUnderstood
from shared_schema.ids import EntryId, parse_entry_id
from shared_schema.kinds.dives import DiveLogged, NoteMade, PageNotReached, PageSignedOff, PhotoTaken, UpkeepDone
from shared_schema.kinds.fragments import (
    ConditionSeen,
    FragmentHarvested,
    FragmentMoved,
    FragmentOutplanted,
    FragmentPlanted,
    SizeMeasured,
    TagChecked,
)
from shared_schema.kinds.registry import GenetRegistered, PersonListed, StructureHung, SurveyPlanned
from shared_schema.kinds.verdicts import EntryWithdrawn, RulingGiven, SurveySignedOff

__all__ = [
    "KINDS",
    "VERSION",
    "BaseEntry",
    "ConditionSeen",
    "DiveLogged",
    "Entry",
    "EntryWithdrawn",
    "FragmentHarvested",
    "FragmentMoved",
    "FragmentOutplanted",
    "FragmentPlanted",
    "GenetRegistered",
    "NoteMade",
    "PageNotReached",
    "PageSignedOff",
    "PersonListed",
    "PhotoTaken",
    "RulingGiven",
    "SizeMeasured",
    "StructureHung",
    "SurveyPlanned",
    "SurveySignedOff",
    "TagChecked",
    "UpkeepDone",
    "entry_id_of",
    "read_entry",
    "write_entry",
]

Entry: TypeAlias = (
    FragmentPlanted
    | FragmentMoved
    | ConditionSeen
    | SizeMeasured
    | TagChecked
    | UpkeepDone
    | PageSignedOff
    | PageNotReached
    | FragmentHarvested
    | FragmentOutplanted
    | NoteMade
    | PhotoTaken
    | DiveLogged
    | GenetRegistered
    | StructureHung
    | PersonListed
    | SurveyPlanned
    | RulingGiven
    | SurveySignedOff
    | EntryWithdrawn
)

KINDS: Final[dict[str, type[BaseEntry]]] = {kind.model_fields["kind"].default: kind for kind in BaseEntry.__subclasses__()}
_ADAPTER: Final[TypeAdapter[Entry]] = TypeAdapter(Annotated[Entry, Field(discriminator="kind")])


def entry_id_of(line: bytes | str) -> EntryId:
    """The id of an entry's line, whatever else is in it. Raises BadFrame where there is none."""
    try:
        body = from_json(line)  # not json.loads, which takes the deeper nesting the emptier the stack is: sides would differ
    except ValueError as error:
        raise BadFrame(f"not JSON ({error}): {line[:80]!r}") from error
    name = body.get("id") if isinstance(body, dict) else None
    if not isinstance(name, str):
        raise BadFrame(f"no entry id: {line[:80]!r}")
    try:
        return parse_entry_id(name)
    except ValueError as error:
        raise BadFrame(str(error)) from error


def read_entry(line: bytes | str) -> Entry:
    """The entry on a line.

    Raises BadFrame where there is not even an id, EntryNotUnderstood where there is one and nothing can be made of it:
    an unknown kind or a newer version (a newer program wrote it), a damaged body, a ruling that is not the office's.
    """
    try:
        return _ADAPTER.validate_json(line)
    except ValidationError as error:
        raise _why(line, error) from error


def _why(line: bytes | str, error: ValidationError) -> EntryNotUnderstood:
    entry_id = entry_id_of(line)
    body = from_json(line)
    kind, version = body.get("kind"), body.get("v")
    if isinstance(version, int) and version > VERSION:
        return EntryNotUnderstood("newer", f"{entry_id} is of version {version}, and this program knows {VERSION}: update it")
    if isinstance(kind, str) and kind not in KINDS:
        return EntryNotUnderstood("unknown", f"{entry_id} is of kind {kind[:80]!r}, which this program does not know: update it")
    first = error.errors(include_url=False)[0]
    cause = first.get("ctx", {}).get("error")
    if isinstance(cause, EntryNotUnderstood):
        return cause
    where = ".".join(str(part) for part in first["loc"][1:])[:80]  # empty where the fault is in no one field
    what = f"{where} = {str(first.get('input'))[:80]!r}: " if where else ""
    detail = f"{entry_id}: {what}{first['msg'].removeprefix('Value error, ')}"
    return EntryNotUnderstood("damaged", detail[:400].replace("\0", "\\0"))  # databases index it, and not all take a NUL


def write_entry(entry: BaseEntry) -> bytes:
    """The entry as one line of JSON, without a line end; what is empty is left out."""
    body = entry.model_dump(mode="json", exclude_none=True)
    head = {"id": body.pop("id"), "kind": body.pop("kind"), "v": body.pop("v")}
    if not body["survey"]:
        del body["survey"]
    if not body["replaces"]:
        del body["replaces"]
    return json.dumps(head | body, ensure_ascii=False, separators=(",", ":")).encode()
