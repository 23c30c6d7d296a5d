"""Names of entries, places, surveys and tags: what is written is read back, and what is misread is noticed."""

from contextlib import suppress
from string import ascii_uppercase, digits
from typing import Any, Final

import pytest
from hypothesis import assume, example, given
from hypothesis import strategies as st
from pydantic import TypeAdapter, ValidationError
from stdnum.iso7064 import mod_37_36

from shared_schema.errors import BadId
from shared_schema.ids import (
    TAG_ALPHABET,
    Address,
    AddressText,
    EntryId,
    EntryIdText,
    Name,
    PlaceText,
    SiteText,
    SubjectText,
    SurveyName,
    check_character,
    is_office,
    new_writer,
    parse_address,
    parse_entry_id,
    parse_tag,
    split_subject,
    structure_of_place,
    tag_code,
)
from tests.laws.effort import FEWER
from tests.shared_schema.alphabets import ADDRESSES, NAMES, PLACES, SUBJECTS, SURVEYS, WRITERS

TAGS: Final = st.text(TAG_ALPHABET, min_size=1, max_size=9)
LOOKALIKES: Final = {"0": "Oo", "1": "IiLl", "V": "Uu"}


def fits(kind: Any, text: str) -> bool:
    """Whether an entry may carry this text as such a name."""
    try:
        TypeAdapter[str](kind).validate_python(text)
    except ValidationError:
        return False
    return True


@given(writer=WRITERS, number=st.integers(1, 10**18 - 1))
def test_an_entry_id_reads_back_as_written(writer: str, number: int) -> None:
    """Writer and number come back from the text, and an entry may carry it."""
    text = str(EntryId(writer, number))
    assert parse_entry_id(text) == EntryId(writer, number)
    assert fits(EntryIdText, text)


@pytest.mark.parametrize(
    "text",
    [
        "",
        "k7f3qz",
        "k7f3qz-",
        "k7f3qz-0",
        "k7f3qz-01",
        "k7f3qz--1",
        "K7F3QZ-1",
        "abc-1",
        "k7f3qz-1 ",
        "k7f3qz-1\n",
        "k7f3qz-１",
        "k7f3qz-" + "9" * 19,
    ],
)
def test_what_is_no_entry_id_is_refused_by_both_readers(text: str) -> None:
    """Zero, leading zeros, capitals, blanks: one id has one spelling, and the message shows what came."""
    with pytest.raises(BadId, match="is no entry id: write <writer>-<number>"):
        parse_entry_id(text)
    assert not fits(EntryIdText, text)


@given(address=ADDRESSES)
@example("กุ้ง-1/3")
@example("Äste/3.2.4")
def test_every_address_that_an_entry_may_carry_can_be_taken_apart(address: str) -> None:
    """In any script, with marks composed or not: what is let in is never a stumbling block later."""
    parsed = parse_address(address)
    assert fits(AddressText, address)
    assert str(parsed) == address
    assert parsed.page == f"{parsed.structure}/{parsed.path.split('.')[0]}"
    assert structure_of_place(address) == parsed.structure


@given(text=st.text(st.sampled_from("aก่é²½ _./-:\n07"), max_size=8))
@example("½/3")
@example("T07/3\n")
def test_the_two_readers_of_addresses_agree(text: str) -> None:
    """Text that an entry may carry as an address parses, and text that it may not does not."""
    try:
        parse_address(text)
    except BadId:
        assert not fits(AddressText, text)
    else:
        assert fits(AddressText, text)


def test_an_address_is_a_structure_and_a_path() -> None:
    """Level 3, arm 2, hole 4 of tree T07, on the page of its level 3."""
    assert parse_address("T07/3.2.4") == Address("T07", "3.2.4")
    assert parse_address("T07/3.2.4").page == "T07/3"
    with pytest.raises(BadId, match=r"'T07' is no address: write <structure>/<path>, as T07/3\.2\.4"):
        parse_address("T07")


@given(place=PLACES)
@FEWER
def test_a_place_is_on_a_structure_or_off_all_of_them(place: str) -> None:
    """The reef, the ground, a hand and out of the nursery are on no structure."""
    assert fits(PlaceText, place)
    assert (structure_of_place(place) is None) == ("/" not in place)


@given(subject=SUBJECTS)
@FEWER
def test_a_subject_is_a_sort_and_a_name(subject: str) -> None:
    """Every subject that an entry may carry comes apart and goes together again."""
    assert fits(SubjectText, subject)
    assert ":".join(split_subject(subject)) == subject


@pytest.mark.parametrize(
    "text", ["", "coral:X", "fragment:", "fragment", "fragment:a b", "fragment:-a", "fragment:a/b", "page:T07/1.2.3.4.5"]
)
def test_what_is_no_subject_is_refused(text: str) -> None:
    """An unknown sort, no name, blanks, a path that is none."""
    assert not fits(SubjectText, text)


@given(name=NAMES)
@FEWER
def test_names_may_be_of_any_script_and_of_48_characters(name: str) -> None:
    """A nursery names things in its own language; one character more is too many."""
    assert fits(Name, name)
    assert not fits(Name, name.ljust(49, "x"))


@given(name=NAMES)
@FEWER
def test_a_name_is_as_long_wherever_it_stands(name: str) -> None:
    """In a subject, an address or a place it may have 48 characters too, and not one more."""
    longest = name.ljust(48, "x")
    for kind, before, after in (
        (SubjectText, "fragment:", ""),
        (SubjectText, "page:", "/3"),
        (AddressText, "", "/3.2.4"),
        (PlaceText, "", "/3.2.4"),
        (PlaceText, "site:", ""),
        (SiteText, "site:", ""),
    ):
        assert fits(kind, f"{before}{longest}{after}")
        assert not fits(kind, f"{before}{longest}x{after}")


@given(one=SURVEYS, other=SURVEYS)
def test_surveys_sort_as_their_dates(one: str, other: str) -> None:
    """Text order is the order of year, month and day; the letters tell apart surveys of one day, or of one month."""
    assert fits(SurveyName, one)
    plain = [one.rstrip("abz"), other.rstrip("abz")]
    assert (plain[0] < plain[1]) == (plain[0].split("-") < plain[1].split("-"))
    if len(plain[0]) == len(plain[1]):
        dates = [(bare.split("-"), name[len(bare) :]) for bare, name in zip(plain, (one, other), strict=True)]
        assert (one < other) == (dates[0] < dates[1])
    assert plain[0] < plain[0] + "a" < plain[0] + "b"


@pytest.mark.parametrize(
    "text",
    [
        "2026",
        "2026-13",
        "2026-00",
        "2026-11-32",
        "2026-11-00",
        "26-11",
        "2026-11B",
        "2026-11ab",
        "2026-11-1",
        "November",
        "2026-11\n",
    ],
)
def test_what_is_no_survey_is_refused(text: str) -> None:
    """Names that would not sort are kept out."""
    assert not fits(SurveyName, text)


def test_new_writers_are_names_that_entries_may_carry_and_never_take_the_offices_part() -> None:
    """Only a writer asked for as the office's may rule."""
    for _ in range(200):
        tablet, office = new_writer(), new_writer("office")
        assert fits(EntryIdText, f"{tablet}-1")
        assert fits(EntryIdText, f"{office}-1")
        assert (is_office(tablet), is_office(office)) == (False, True)


@given(text=st.text(digits + ascii_uppercase, min_size=1, max_size=20))
def test_the_check_character_is_that_of_iso_7064_mod_37_36(text: str) -> None:
    """Against another implementation of the standard, for the alphabet that the standard names."""
    assert check_character(text, digits + ascii_uppercase) == mod_37_36.calc_check_digit(text)


@given(text=TAGS)
def test_the_same_arithmetic_serves_the_alphabet_of_tags(text: str) -> None:
    """Against the same implementation, told to use 32 characters."""
    assert check_character(text) == mod_37_36.calc_check_digit(text, alphabet=TAG_ALPHABET)


@given(text=TAGS, data=st.data())
@FEWER
def test_every_single_wrong_character_on_a_tag_is_caught(text: str, data: st.DataObject) -> None:
    """One character misread through fouling, the check character too, is never another tag."""
    tag = text + check_character(text)
    place = data.draw(st.integers(0, len(tag) - 1))
    for wrong in set(TAG_ALPHABET) - {tag[place]}:
        with pytest.raises(BadId, match="is no tag"):
            parse_tag(tag[:place] + wrong + tag[place + 1 :])


def test_nearly_every_swap_of_neighbours_is_caught() -> None:
    """Of all swaps in four-character tags at most one in fifty slips through."""
    caught = missed = 0
    for number in range(0, 32**4, 997):
        body, check = tag_code(number).split("-")
        tag = body + check
        for place in range(len(tag) - 1):
            swapped = tag[:place] + tag[place + 1] + tag[place] + tag[place + 2 :]
            if swapped != tag:
                good = check_character(swapped[:-1]) == swapped[-1]
                missed, caught = missed + good, caught + (not good)
    assert missed / (missed + caught) < 0.02


@given(number=st.integers(0, 32**6), width=st.integers(1, 8))
def test_a_tag_reads_back_as_printed_and_no_two_numbers_share_one(number: int, width: int) -> None:
    """The code counts in its alphabet: the number can be told from it."""
    tag = tag_code(number, width)
    assert parse_tag(tag) == tag
    body = tag[:-2]
    assert len(body) >= width
    assert sum(TAG_ALPHABET.index(one) * 32**place for place, one in enumerate(reversed(body))) == number


@given(text=TAGS, data=st.data())
@FEWER
def test_look_alikes_small_letters_and_blanks_are_forgiven(text: str, data: st.DataObject) -> None:
    """O for 0, I or L for 1, U for V, spaces and dashes anywhere: still the same tag."""
    tag = text + check_character(text)
    misread = "".join(data.draw(st.sampled_from(one + one.lower() + LOOKALIKES.get(one, ""))) for one in tag)
    blanks = data.draw(st.lists(st.sampled_from(("", " ", "-", " - ")), min_size=len(misread), max_size=len(misread)))
    assert parse_tag("".join(map("".join, zip(misread, blanks, strict=True)))) == f"{text}-{tag[-1]}"


@pytest.mark.parametrize(("read", "meant"), [(read, meant) for meant, several in LOOKALIKES.items() for read in several])
def test_each_look_alike_is_read_as_what_is_printed(read: str, meant: str) -> None:
    """No tag is printed with O, I, L or U, so that they can only be misreadings."""
    assert read not in TAG_ALPHABET
    assert parse_tag(f"A{read}B{check_character(f'A{meant}B')}") == f"A{meant}B-{check_character(f'A{meant}B')}"


@given(text=st.text(max_size=12))
def test_whatever_is_typed_for_a_tag_is_a_tag_or_refused(text: str) -> None:
    """No input breaks the reader otherwise, and what it takes is spelled as printed."""
    with suppress(BadId):
        tag = parse_tag(text)
        assert parse_tag(tag) == tag
        assert tag[-2] == "-"


@pytest.mark.parametrize("text", ["", "-", "7", " A "])
def test_one_character_is_too_short_for_a_tag(text: str) -> None:
    """There must be something to check."""
    with pytest.raises(BadId, match="too short for a tag"):
        parse_tag(text)


def test_tags_count_from_0() -> None:
    """A negative number has no tag."""
    assert tag_code(0) == f"0000-{check_character('0000')}"
    with pytest.raises(BadId, match="tag number -1 is negative"):
        tag_code(-1)


@given(text=TAGS, stranger=st.characters())
def test_the_check_character_is_never_computed_over_a_strange_character(text: str, stranger: str) -> None:
    """What is not in the alphabet is named, and where it stood."""
    assume(stranger not in TAG_ALPHABET)
    with pytest.raises(BadId, match="is not a tag character"):
        check_character(text + stranger)
