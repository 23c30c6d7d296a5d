"""What lets a tablet in: addresses and codes as people type them."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from mobile.invitation import CODE_LENGTH, code_state, plain_code, read_code, read_invitation, server_url, spaced_code
from shared_schema.errors import SchemaError
from shared_schema.ids import TAG_ALPHABET, check_character

BODIES = st.text(alphabet=TAG_ALPHABET, min_size=CODE_LENGTH - 1, max_size=CODE_LENGTH - 1)


@given(BODIES, st.integers(0, CODE_LENGTH - 1), st.sampled_from(TAG_ALPHABET))
def test_one_wrong_character_is_caught_at_once(body: str, at: int, other: str) -> None:
    """Before anything is sent: whichever character it is."""
    code = body + check_character(body)
    assert code_state(code) == "good"
    wrong = code[:at] + other + code[at + 1 :]
    assert (code_state(wrong) == "good") == (wrong == code)


@given(BODIES)
def test_codes_are_read_as_they_are_written_and_said(body: str) -> None:
    """With its dash, in small letters, with blanks; an unfinished one is not yet wrong."""
    code = body + check_character(body)
    assert read_code(spaced_code(code)) == read_code(code.lower()) == read_code(f" {code[:5]} {code[5:]}") == code
    assert code_state(code[:-1]) == "more"


def test_lookalikes_are_put_right() -> None:
    """O, I, L and U are no characters of a code."""
    assert plain_code("oilu") == "011V"


def test_the_text_of_the_offices_picture_has_both() -> None:
    """Address and code, parted by a hash; an address alone is one too."""
    code = "AAAAAAAAA" + check_character("AAAAAAAAA")
    assert read_invitation(f"https://reef.example:8000/#{code}") == ("https://reef.example:8000", code)
    assert read_invitation("reef.example:8000") == ("http://reef.example:8000", "")
    with pytest.raises(SchemaError, match="no code"):
        read_invitation("reef.example#AAAA")


@pytest.mark.parametrize("text", ["", "http://", "ftp://reef", "http://reef:port", "a b", "http://reef:99999"])
def test_what_is_no_address_is_refused(text: str) -> None:
    """With one that would do."""
    with pytest.raises(SchemaError, match="no address"):
        server_url(text)
