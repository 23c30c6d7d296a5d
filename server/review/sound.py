"""Whether a value can be: what a person at the office gives for a fact is held against the fact and against the record."""

from collections.abc import Mapping
from typing import Any, Final

from pydantic import ValidationError

from server.review.ancestors import parents_above
from server.review.vacancies import designs_of, has_position
from server.store.engine import reading
from server.store.record import RecordStore
from shared_schema.discrepancies import registered
from shared_schema.errors import SchemaError
from shared_schema.facts import FACTS
from shared_schema.ids import parse_address, split_subject, structure_of_place
from shared_schema.sayings import mark

__all__ = ["check_value", "checked_value"]

_PERCENT: Final = mark("%(fact)s: “%(value)s” cannot be. Give a whole number from 0 to 100.")
_LENGTH: Final = mark("%(fact)s: “%(value)s” cannot be. Give whole millimetres from 0 to 100000.")
_PLACE: Final = mark("%(fact)s: “%(value)s” is no place. Give a position, as T07/3.2.4, or site:NAME, ground, holding or removed.")
_ADDRESS: Final = mark("%(fact)s: “%(value)s” is no position. Give structure and position, as T07/3.2.4.")
_NAME: Final = mark("%(fact)s: “%(value)s” is no name. Give letters, digits, dots and hyphens, 48 at most.")
_WORD: Final = mark("%(fact)s: “%(value)s” cannot be. Give one line of at most 200 letters.")
_OTHER: Final = mark("%(fact)s: “%(value)s” cannot be. Choose a value from the list.")
_WHAT_TO_DO: Final[Mapping[str, str]] = {
    "live_tissue": _PERCENT,
    **dict.fromkeys(("length_mm", "width_mm", "height_mm", "tle_mm"), _LENGTH),
    "place": _PLACE,
    "seen_at": _ADDRESS,
    **dict.fromkeys(("genet", "parent"), _NAME),
    **dict.fromkeys(("donor", "accession", "tag"), _WORD),
}


def checked_value(fact: str, value: Any) -> Any:
    """The value in its own type. Raises SchemaError, which names fact and value and says what to do."""
    try:
        return FACTS[fact].check(value)
    except ValidationError as error:
        raise SchemaError(_WHAT_TO_DO.get(fact, _OTHER), fact=fact, value=_short(value)) from error


def check_value(store: RecordStore, subject: str, fact: str, value: Any) -> None:
    """Hold a value against its fact and the record. Raises SchemaError, which names fact and value and says what to do."""
    checked_value(fact, value)
    if fact in ("place", "seen_at"):
        _check_position(store, fact, value)
    elif fact == "genet" and not registered(store.standing(f"genet:{value}")):
        raise SchemaError(
            "%(fact)s: nobody registered “%(value)s”. Give a genet that is in the record, or register this one first.",
            fact=fact,
            value=value,
        )
    elif fact == "parent":
        _check_mother(store, split_subject(subject)[1], value)


def _short(value: Any) -> str:
    return str(value)[:80]


def _check_position(store: RecordStore, fact: str, value: str) -> None:
    structure = structure_of_place(value)
    if structure is None or has_position(store, value):
        return
    if not designs_of(store, [structure]):
        raise SchemaError(
            "%(fact)s: “%(value)s” cannot be: there is no structure %(structure)s. Give a position of a structure that hangs.",
            fact=fact,
            value=value,
            structure=structure,
        )
    first = next(iter(designs_of(store, [structure])[structure].positions)).path
    raise SchemaError(
        "%(fact)s: “%(value)s” cannot be: structure %(structure)s has no position %(path)s. Give one that it has, as %(example)s.",
        fact=fact,
        value=value,
        structure=structure,
        path=parse_address(value).path,
        example=f"{structure}/{first}",
    )


def _check_mother(store: RecordStore, fragment: str, mother: str) -> None:
    with reading(store.engine) as connection:
        above = parents_above(connection, store.nursery, mother)
    if mother not in above:
        raise SchemaError(
            "%(fact)s: there is no fragment “%(value)s” in the record. Give one that is, or put this one on record first.",
            fact="parent",
            value=mother,
        )
    if fragment in above or mother == fragment:
        raise SchemaError(
            "%(fact)s: “%(value)s” cannot be: it descends from %(fragment)s itself. Give the one that it was cut from.",
            fact="parent",
            value=mother,
            fragment=fragment,
        )
