"""What stands in the record before a dive that is shown: what the survey before found, and what other boats said by now."""

from typing import Final

from shared_schema.author import Author
from shared_schema.entries import ConditionSeen
from tests.mobile.nursery import SURVEY
from tests.screens.dive_stage import elsewhere

__all__ = ["BARE", "FOUND_BEFORE", "two_who_differ"]

FOUND_BEFORE: Final = {
    "T07/3.1.2": "fading",
    "T07/3.2.2": "bleached",
    "T07/3.2.4": "preyed_on",
    "T07/3.3.1": "sick",
    "T07/3.3.3": "dead",
    "T07/3.4.4": "lost",
}
"""Address -> condition: one of each on one page; all others were alive."""
BARE: Final = frozenset({"T07/3.4.5"})
"""Where nothing hangs."""


def two_who_differ() -> tuple[Author, Author]:
    """Two other boats that found one coral, of the same page, in different conditions."""
    ben, chloe = elsewhere("b2m9xw", "ben"), elsewhere("c3n8yv", "chloe")
    for author, status in ((ben, "fading"), (chloe, "bleached")):
        author.write(ConditionSeen, "fragment:F-T07-3.3.4", SURVEY, status=status)
    return ben, chloe
