"""Passwords: which are good enough, and how they are kept (argon2id)."""

import threading
import unicodedata
from functools import cache
from typing import Final

from pwdlib import PasswordHash
from pwdlib.hashers.argon2 import Argon2Hasher

from shared_schema.errors import SchemaError

__all__ = ["LONGEST", "SHORTEST", "check_password", "fits", "hash_password"]

SHORTEST: Final = 12
LONGEST: Final = 200
"""Characters. Length is what counts; which signs it is made of is the owner's (NIST SP 800-63B, from memory)."""

_HASHER: Final = PasswordHash((Argon2Hasher(),))
# Each takes 64 MiB while it runs: a rush of sign-ins must not take all memory.
_AT_ONCE: Final = threading.BoundedSemaphore(4)


def check_password(password: str, *names: str) -> str:
    """The password as it is kept. Raises SchemaError where it is too short, too long, or one that others guess first."""
    plain = _plain(password)
    if len(plain) < SHORTEST:
        raise SchemaError(
            "this password has %(count)s characters: take %(shortest)s or more, as four or five words",
            count=len(plain),
            shortest=SHORTEST,
        )
    if len(plain) > LONGEST:
        raise SchemaError("this password has %(count)s characters: %(longest)s are the most", count=len(plain), longest=LONGEST)
    folded = plain.casefold()
    if len(set(folded)) < 5:
        raise SchemaError("this password repeats the same few characters: take another, as four or five words")
    rest = folded
    for name in (*names, "crosstree", "password", "passwort", "contraseña"):
        for word in (name.casefold(), *name.casefold().split()):
            if len(word) > 2:
                rest = rest.replace(word, "")
    if len(rest) < 6:
        raise SchemaError("this password is little more than a name that others guess first: take another, as four or five words")
    return plain


def hash_password(password: str) -> str:
    """What is kept of a password that was checked. It takes a quarter of a second on purpose."""
    with _AT_ONCE:
        return _HASHER.hash(_plain(password))


def fits(password: str, kept: str | None) -> bool:
    """Whether a password is the one that was kept. Without one it takes as long, and does not fit."""
    nobody = _nobody()
    plain = _plain(password)
    with _AT_ONCE:
        right = len(plain) <= LONGEST and _HASHER.verify(plain, kept or nobody)
    return right and kept is not None


@cache
def _nobody() -> str:
    return _HASHER.hash("nobody has this password")


def _plain(password: str) -> str:
    """One form of what keyboards write in several."""
    return unicodedata.normalize("NFKC", password)
