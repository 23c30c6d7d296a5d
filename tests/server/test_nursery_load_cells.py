"""Cells of a nursery file, against the schema that entries are held to."""

from collections.abc import Callable

import pytest
from hypothesis import example, given
from hypothesis import strategies as st
from pydantic import TypeAdapter, ValidationError

from server.registry.cells import read_name, read_place
from server.registry.problems import CellError
from shared_schema.ids import Name, PlaceText

READERS = {"name": (read_name, TypeAdapter(Name)), "place": (read_place, TypeAdapter(PlaceText))}
LIKELY = st.text(st.sampled_from("aZ09_.-/: é²\u0301ß٣"), max_size=52)
PLACES = st.builds("{}/{}".format, LIKELY, st.text(st.sampled_from("0123456789."), max_size=12))


def takes(reader: Callable[[str], object], text: str) -> bool:
    """Whether a reader takes a text."""
    try:
        reader(text)
    except (CellError, ValidationError):
        return False
    return True


@pytest.mark.parametrize("sort", READERS)
@given(
    text=st.one_of(
        LIKELY, PLACES, st.text(), st.sampled_from(["ground", "holding", "removed", "site:Orsa", "site:", "T1/1.2.3.4.5"])
    )
)
@example(text="x" * 48)
@example(text="x" * 49)
@example(text="T1/1.2\n")
def test_a_cell_is_taken_where_the_schema_takes_it(sort: str, text: str) -> None:
    """Whatever is taken makes an entry; and nothing in plain letters that would make one is refused."""
    reader, schema = READERS[sort]
    if takes(reader, text):
        assert takes(schema.validate_python, text)
    elif text.isascii():
        assert not takes(schema.validate_python, text)
