"""What lets a tablet in: a server's address and a one-time code, typed, or read as one text from the office's picture."""

import re
from typing import Final, Literal, NamedTuple, TypeAlias
from urllib.parse import urlsplit

from shared_schema.errors import SchemaError
from shared_schema.ids import TAG_ALPHABET, check_character

__all__ = [
    "CODE_LENGTH",
    "CodeState",
    "Invitation",
    "code_state",
    "plain_code",
    "read_code",
    "read_invitation",
    "server_url",
    "spaced_code",
]

CODE_LENGTH: Final = 10
"""Characters of a code; the last one checks the others."""

CodeState: TypeAlias = Literal["more", "good", "slip"]
"""`more`: characters are missing; `good`: whole, and its last character fits; `slip`: one of them was misread."""


class Invitation(NamedTuple):
    """An address, and the code, empty where it was not there."""

    url: str
    code: str


def plain_code(text: str) -> str:
    """A code as it is compared: capitals, without blanks and dashes, look-alikes (O I L U) put right."""
    letters = re.sub(r"[\s-]", "", text).upper()
    return "".join({"O": "0", "I": "1", "L": "1", "U": "V"}.get(letter, letter) for letter in letters)


def spaced_code(code: str) -> str:
    """A code as the office writes it: `TQFGT-48F6W`."""
    return f"{code[:5]}-{code[5:]}" if len(code) > 5 else code


def code_state(text: str) -> CodeState:
    """Whether what was typed so far is a code."""
    code = plain_code(text)
    if len(code) < CODE_LENGTH:
        return "more"
    if len(code) > CODE_LENGTH or not set(code) <= set(TAG_ALPHABET):
        return "slip"
    return "good" if check_character(code[:-1]) == code[-1] else "slip"


def server_url(text: str) -> str:
    """An address as it was typed -> the URL; `http://` may be left out. Raises SchemaError where it names no computer."""
    typed = text.strip()
    url = (typed if "://" in typed else f"http://{typed}").rstrip("/")
    try:
        parts = urlsplit(url)
        named = bool(parts.hostname) and parts.scheme in ("http", "https") and (parts.port is None or parts.port > 0)
    except ValueError:
        named = False
    if not named or any(character.isspace() for character in url):
        raise SchemaError(f"{text!r} is no address: write it as the supervisor gave it, as http://192.168.1.5:8000")
    return url


def read_invitation(text: str) -> Invitation:
    """What a text gives: `<address>#<code>` as in the office's picture, or an address alone. Raises SchemaError."""
    address, _, code = text.strip().partition("#")
    return Invitation(server_url(address), read_code(code) if code else "")


def read_code(text: str) -> str:
    """A whole code, as it is sent. Raises SchemaError where it has a slip in it."""
    if code_state(text) != "good":
        raise SchemaError(f"{text!r} is no code: it has {CODE_LENGTH} characters, and the last one must fit the others")
    return plain_code(text)
