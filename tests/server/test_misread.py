"""Entries that nothing can be made of: what is wrong with them is said in the reader's language."""

import json
from typing import Any, Final

import pytest

from server.pages.languages import read_languages
from server.pages.misread import misread_words
from server.pages.wording import spoken
from shared_schema.entries import read_entry
from shared_schema.errors import EntryNotUnderstood

pytestmark = pytest.mark.usefixtures("compiled_words")

SEEN: Final[dict[str, Any]] = {
    "id": "k7f3qz-12",
    "kind": "condition_seen",
    "v": 1,
    "survey": "2026-11",
    "subject": "fragment:CA-1",
    "by": "teo",
    "observed": "2026-11-14T09:40:00-04:00",
    "entered": "2026-11-14T09:40:00-04:00",
    "status": "alive",
}
RULED: Final[dict[str, Any]] = {"kind": "ruling_given", "status": ..., "fact": "status", "value": "sick"}
INEXACT: Final = RULED | {"fact": "dive", "subject": "visit:v1", "value": {"depth_cm": 12.5}}
FAULTS: Final[tuple[tuple[dict[str, Any], str], ...]] = (
    ({"kind": "sonar_swept"}, "Su clase es “sonar_swept”."),
    ({"v": 9}, "Es de la versión 9, y este programa conoce la 1."),
    ({"live_tissue": 140}, "“live_tissue” es “140”, que es menos o más de lo posible."),
    ({"status": "sleepy"}, "“status” es “sleepy”, que no es ninguno de los valores que hay."),
    ({"observed": "2026-11-14T09:40:00"}, "“observed” es “2026-11-14T09:40:00”, sin su diferencia con UTC."),
    ({"mood": "fine"}, "“mood” no es nada que diga una entrada de su clase."),
    ({"by": None}, "“by” es “None”, que no está escrito como debe."),
    ({"subject": "person:teo"}, "“person:teo” no es nada de lo que trate una entrada de su clase."),
    ({"status": None}, "No dice nada."),
    (RULED | {"fact": "mood"}, "“mood” no es nada que una resolución pueda resolver."),
    (RULED | {"value": "sleepy"}, "“status” no puede ser “sleepy”."),
    (
        RULED | {"fact": "dive", "subject": "visit:v1", "value": {"depth_cm": 12.5}},
        "“12.5” es un número que no está escrito con exactitud.",
    ),
    (RULED, "“k7f3qz” es una tableta."),
)


@pytest.mark.parametrize(("fault", "said"), FAULTS, ids=[said[:24] for _, said in FAULTS])
def test_a_fault_is_said_in_spanish(fault: dict[str, Any], said: str) -> None:
    """With the field, and what was found there, or with what does not fit and whoever may not."""
    assert words({name: value for name, value in (SEEN | fault).items() if value is not ...}) == said


def test_what_is_missing_is_named() -> None:
    """A field that an entry must have."""
    assert words({name: value for name, value in SEEN.items() if name != "by"}) == "Falta “by”."


def test_what_this_program_understands_by_now_has_no_fault() -> None:
    """A line that was set aside by an older program: nothing is made up about it."""
    assert misread_words("damaged", json.dumps(SEEN)) == ""
    assert misread_words("not_allowed", json.dumps(SEEN)) == ""


def words(body: dict[str, Any]) -> str:
    """What a Spanish reader is told of a line."""
    line = json.dumps(body)
    with pytest.raises(EntryNotUnderstood) as caught:
        read_entry(line)
    with spoken(read_languages()["es"]):
        return misread_words(caught.value.reason, line)
