"""Names of things: entries, writers, heads, subjects, addresses of positions, surveys, tags.

An entry's id is written `<writer>-<number>`, as `k7f3qz-12`. A writer is a tablet or the office; its numbers run
1, 2, 3 ... without a gap, so that a table writer -> highest number (its *heads*) says exactly what somebody holds.

A subject is written `<sort>:<name>`, as `fragment:PA-0042`. A position's address is `<structure>/<path>`, as
`T07/3.2.4`: level 3, arm 2, hole 4; the first part of the path is the page (`T07/3`), what a diver signs off.

A survey's name is its month or day, with a letter where there are several (`2026-11`, `2026-11-14`, `2026-11b`):
the order of surveys is the order of their names, and no clock has a say in it. The empty name holds standing facts.
"""

import hashlib
import re
import secrets
from typing import Annotated, Final, NamedTuple, TypeAlias

from pydantic import AfterValidator, StringConstraints, TypeAdapter, ValidationError

from shared_schema.errors import BadId

__all__ = [
    "OFFICE",
    "TAG_ALPHABET",
    "Address",
    "AddressText",
    "EntryId",
    "EntryIdText",
    "Heads",
    "Name",
    "PageText",
    "PlaceText",
    "SiteText",
    "SubjectText",
    "SurveyName",
    "WriterText",
    "check_character",
    "fork_writer",
    "is_office",
    "new_writer",
    "parse_address",
    "parse_entry_id",
    "parse_tag",
    "split_subject",
    "structure_of_place",
    "tag_code",
]

OFFICE: Final = "office"
_SYLLABLES: Final = "abcdefghjkmnpqrstvwxyz23456789"  # no look-alikes: these ids are read out on a boat

_WRITER = r"[a-z0-9]{4,16}"
_NAME = r"\w[\w.-]*"
_LONGEST_NAME: Final = 48  # not in the pattern: to count letters of all alphabets there took a fifth of a second of each start
_PATH = r"[0-9]{1,4}(?:\.[0-9]{1,4}){0,3}"
_SORTS = "fragment|position|page|structure|genet|person|survey|visit|site"
_SURVEY = r"[0-9]{4}-(?:0[1-9]|1[0-2])(?:-(?:0[1-9]|[12][0-9]|3[01]))?[a-z]?"

Heads: TypeAlias = dict[str, int]
"""writer -> highest number held, every number from 1 up to it included."""


def _of_a_short_name(text: str) -> str:
    """The name in a subject, an address or a place is no longer than others."""
    name = text.rpartition(":")[2].partition("/")[0]
    if len(name) > _LONGEST_NAME:
        raise ValueError(f"the name {name!r} has {len(name)} characters, and {_LONGEST_NAME} are the most")
    return text


WriterText = Annotated[str, StringConstraints(pattern=f"^{_WRITER}$")]
EntryIdText = Annotated[str, StringConstraints(pattern=f"^{_WRITER}-[1-9][0-9]{{0,17}}$")]
Name = Annotated[str, StringConstraints(pattern=f"^{_NAME}$", max_length=_LONGEST_NAME)]
SubjectText = Annotated[str, StringConstraints(pattern=f"^(?:{_SORTS}):{_NAME}(?:/{_PATH})?$"), AfterValidator(_of_a_short_name)]
SurveyName = Annotated[str, StringConstraints(pattern=f"^(?:{_SURVEY})?$")]
AddressText = Annotated[str, StringConstraints(pattern=f"^{_NAME}/{_PATH}$"), AfterValidator(_of_a_short_name)]
PageText = AddressText
PlaceText = Annotated[
    str,
    StringConstraints(pattern=f"^(?:{_NAME}/{_PATH}|site:{_NAME}|ground|holding|removed)$"),
    AfterValidator(_of_a_short_name),
]
"""Where a fragment is: a position's address, `site:<name>` on the reef, `ground` (found on the sand, not re-hung),
`holding` (in hand, between places) or `removed` (taken out of the nursery)."""
SiteText = Annotated[str, StringConstraints(pattern=f"^site:{_NAME}$"), AfterValidator(_of_a_short_name)]
"""A place on the reef."""


class EntryId(NamedTuple):
    """Who wrote it, and the how manieth of that writer it is."""

    writer: str
    number: int

    def __str__(self) -> str:
        return f"{self.writer}-{self.number}"


class Address(NamedTuple):
    """A position or page within a structure."""

    structure: str
    path: str

    @property
    def page(self) -> str:
        """The page's address, as `T07/3`."""
        return f"{self.structure}/{self.path.partition('.')[0]}"

    def __str__(self) -> str:
        return f"{self.structure}/{self.path}"


_ENTRY_ID = re.compile(f"({_WRITER})-([1-9][0-9]{{0,17}})")
_ADDRESS: Final[TypeAdapter[str]] = TypeAdapter(AddressText)


def parse_entry_id(text: str) -> EntryId:
    """`k7f3qz-12` -> EntryId("k7f3qz", 12). Raises BadId."""
    match = _ENTRY_ID.fullmatch(text)
    if match is None:
        raise BadId("%(text)r is no entry id: write <writer>-<number>, as k7f3qz-12", text=text)
    return EntryId(match[1], int(match[2]))


def parse_address(text: str) -> Address:
    """`T07/3.2.4` -> Address("T07", "3.2.4"). Raises BadId."""
    # Not by a pattern of its own: what pydantic and `re` take for a letter differs, and an entry's address must parse.
    try:
        structure, _, path = _ADDRESS.validate_python(text).partition("/")
    except ValidationError as error:
        raise BadId("%(text)r is no address: write <structure>/<path>, as T07/3.2.4", text=text) from error
    return Address(structure, path)


def split_subject(text: str) -> tuple[str, str]:
    """`fragment:PA-0042` -> ("fragment", "PA-0042")."""
    sort, _, name = text.partition(":")
    return sort, name


def structure_of_place(place: str) -> str | None:
    """The structure that a place is on, or None for the reef, the ground, a hand."""
    structure, slash, _ = place.partition("/")
    return structure if slash else None


def is_office(writer: str) -> bool:
    """Whether entries of this writer are the office's, and so may rule."""
    return writer.startswith(OFFICE)


def new_writer(prefix: str = "") -> str:
    """A fresh writer id; with prefix OFFICE, the office's. Six letters: 729 million, and the server refuses a repeat."""
    size = 6 if not prefix else 4
    while True:
        writer = prefix + "".join(secrets.choice(_SYLLABLES) for _ in range(size))
        if prefix or not is_office(writer):
            return writer


def fork_writer(first: EntryId, line: bytes) -> str:
    """Who writes what forks off at the entry `first`, whose line is `line`: eight letters of a hash of both.

    Tablets are given six, and an office's name has an i, so a fork is never taken for either.
    """
    digest = hashlib.sha256(f"{first}\n".encode() + line).digest()
    return "".join(_SYLLABLES[byte % len(_SYLLABLES)] for byte in digest[:8])


# Tags are read under water, through fouling, and typed with wet hands, so a code carries one check character.
# The arithmetic is the hybrid system of ISO/IEC 7064 (MOD M+1,M), which catches every single wrong character and
# nearly every swap of neighbours. The standard names M = 10, 26 and 36; the alphabet here has 32 characters, without
# I, L, O and U, so that a look-alike is never a different tag. The test holds the arithmetic against M = 36.

TAG_ALPHABET: Final = "0123456789ABCDEFGHJKMNPQRSTVWXYZ"
_LOOKALIKES: Final = str.maketrans("OILU", "011V")


def check_character(text: str, alphabet: str = TAG_ALPHABET) -> str:
    """The check character of ISO/IEC 7064, hybrid system MOD M+1,M, for text over an alphabet of M characters.

    Raises BadId for a character outside the alphabet.
    """
    size = len(alphabet)
    carry = size
    for character in text:
        value = alphabet.find(character)
        if value < 0:
            raise BadId(
                "%(character)r in %(text)r is not a tag character: use %(alphabet)s",
                character=character,
                text=text,
                alphabet=alphabet,
            )
        carry = (carry + value) % size or size
        carry = carry * 2 % (size + 1)
    return alphabet[(size + 1 - carry) % size]


def tag_code(number: int, width: int = 4) -> str:
    """The tag of a running number (0, 1, 2 ...): `width` characters at least, then the check character, as `002M-7`."""
    if number < 0:
        raise BadId("tag number %(number)s is negative: tags count from 0", number=number)
    digits = ""
    while number or len(digits) < width:
        number, rest = divmod(number, len(TAG_ALPHABET))
        digits = TAG_ALPHABET[rest] + digits
    return f"{digits}-{check_character(digits)}"


def parse_tag(text: str) -> str:
    """What was read on a tag -> the code as printed; small letters, blanks and look-alikes (O I L U) are forgiven.

    Raises BadId where the check character does not fit.
    """
    letters = re.sub(r"[\s-]", "", text).upper().translate(_LOOKALIKES)
    if len(letters) < 2:
        raise BadId("%(text)r is too short for a tag: a code and its check character, as 002M-7", text=text)
    body, check = letters[:-1], letters[-1]
    if check_character(body) != check:
        raise BadId(
            "%(text)r is no tag: the last character does not fit the others; look again, or enter it as unreadable",
            text=text,
        )
    return f"{body}-{check}"
