"""What came from others, in a line each."""

from collections.abc import Mapping
from typing import Any

from mobile.news import Change
from mobile.palette import CONDITIONS
from mobile.widgets.list_picker import Choice
from mobile.widgets.look import LOOK
from shared_schema.entries import (
    ConditionSeen,
    EntryWithdrawn,
    FragmentMoved,
    FragmentPlanted,
    NoteMade,
    PageNotReached,
    PageSignedOff,
    PhotoTaken,
    RulingGiven,
    SizeMeasured,
    TagChecked,
    UpkeepDone,
)

__all__ = ["change_choice", "status_word"]


def change_choice(change: Change, names: Mapping[str, str]) -> Choice:
    """The line of a change: where, what; and who said so. `names` are people's by id."""
    who = names.get(change.entry.by, change.entry.by)
    if change.from_office:
        who = LOOK.words.text("the office")
    return Choice(change.entry.id, f"{change.where}  {_what(change.entry)}", who)


def status_word(status: str) -> str:
    """A status as its button says it."""
    condition = CONDITIONS.get(status)
    return status if condition is None else LOOK.words.text(condition.word)


def _what(entry: Any) -> str:
    _ = LOOK.words.text
    if isinstance(entry, ConditionSeen):
        return status_word(entry.status) if entry.status else _("details")
    if isinstance(entry, RulingGiven):
        value = status_word(str(entry.value)) if entry.fact == "status" else f"{entry.fact} {entry.value}"
        return _("ruled: {value}").format(value=value)
    if isinstance(entry, FragmentMoved):
        return _("moved")
    if isinstance(entry, NoteMade):
        return entry.text.replace("\n", " ")[:40]
    if isinstance(entry, PageSignedOff):
        return _("signed off")
    words: dict[type[Any], str] = {
        FragmentPlanted: _("planted"),
        PageNotReached: _("not reached"),
        UpkeepDone: _("upkeep"),
        SizeMeasured: _("measured"),
        TagChecked: _("tag checked"),
        PhotoTaken: _("photo"),
        EntryWithdrawn: _("taken back"),
    }
    kind: type[Any] = type(entry)
    return words.get(kind, _("other"))
