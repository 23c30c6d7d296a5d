"""Names as people give them, in the scripts of the places where nurseries are."""

from typing import Final

from hypothesis import strategies as st

__all__ = ["ADDRESSES", "NAMES", "PATHS", "PLACES", "SUBJECTS", "SUBJECT_SORTS", "SURVEYS", "WRITERS"]

_STARTS: Final = "aZ09_éßжกกไα珊さمñ"
_INNER: Final = st.sampled_from([*_STARTS, ".", "-", "่", "̈", "ุ"])
NAMES: Final = st.builds(
    lambda first, rest: first + rest,
    st.sampled_from(_STARTS),
    st.text(_INNER, max_size=12) | st.text(_INNER, min_size=47, max_size=47),
)
"""Names of people, fragments, structures: letters of any script, digits, and within them dots, dashes and marks."""

_numbers: Final = st.integers(0, 9999).map(str)
PATHS: Final = st.lists(_numbers, min_size=1, max_size=4).map(".".join)
ADDRESSES: Final = st.builds("{}/{}".format, NAMES, PATHS)
PLACES: Final = st.one_of(ADDRESSES, NAMES.map("site:{}".format), st.sampled_from(("ground", "holding", "removed")))

SUBJECT_SORTS: Final = ("fragment", "position", "page", "structure", "genet", "person", "survey", "visit", "site")
SUBJECTS: Final = st.one_of(
    st.builds("{}:{}".format, st.sampled_from(("position", "page")), ADDRESSES),
    st.builds("{}:{}".format, st.sampled_from(SUBJECT_SORTS), NAMES),
)

WRITERS: Final = st.text("abz029", min_size=4, max_size=16).filter(lambda writer: not writer.startswith("office"))

_day: Final = st.none() | st.integers(1, 31)
SURVEYS: Final = st.builds(
    lambda year, month, day, letter: f"{year:04}-{month:02}" + ("" if day is None else f"-{day:02}") + letter,
    st.integers(1000, 9999),
    st.integers(1, 12),
    _day,
    st.sampled_from(("", "", "a", "b", "z")),
)
