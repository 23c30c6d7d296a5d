"""Counted tries: how often a name, or an address, was tried of late. The count is in the database, for all processes."""

import hashlib
import unicodedata
from collections.abc import Mapping
from ipaddress import IPv6Address, ip_address
from typing import Final

from sqlalchemy import text

from server.store.engine import writing
from server.store.record import RecordStore
from shared_schema.errors import TooManyTries

__all__ = ["PER_ACCOUNT", "PER_ADDRESS", "WINDOW_MS", "count_a_try", "forget_tries"]

WINDOW_MS: Final = 15 * 60 * 1000
PER_ACCOUNT: Final = 10
PER_ADDRESS: Final = 50
"""Within WINDOW_MS. An office behind one address is several people; successes are not counted."""

_COUNT: Final = text(
    """
    INSERT INTO office_tries (nursery, what, began, tries) VALUES (:nursery, :what, :now, 1)
    ON CONFLICT (nursery, what) DO UPDATE SET
        tries = CASE WHEN office_tries.began < :old THEN 1 ELSE office_tries.tries + 1 END,
        began = CASE WHEN office_tries.began < :old THEN :now ELSE office_tries.began END
    RETURNING tries
    """
)
_GIVE_BACK: Final = text("UPDATE office_tries SET tries = tries - 1 WHERE nursery = :nursery AND what = :what AND tries > 0")
_FORGET: Final = text("DELETE FROM office_tries WHERE nursery = :nursery AND what = :what")
_CLEAR: Final = text("DELETE FROM office_tries WHERE nursery = :nursery AND began < :old")


def count_a_try(store: RecordStore, who: str, address: str) -> None:
    """Count a try before it is looked at, so that many at once are counted too. Raises TooManyTries, the right one included.

    The name counts as it was typed, whether or not there is such an account.
    """
    now = int(store.clock().timestamp() * 1000)
    over = False
    with writing(store.engine) as connection:
        for what, most in _counters(who, address).items():
            values = {"nursery": store.nursery, "what": what, "now": now, "old": now - WINDOW_MS}
            over = connection.execute(_COUNT, values).scalar_one() > most or over
    if over:
        raise TooManyTries("too many tries with this name, or from this network: wait a quarter of an hour, or ask a supervisor")


def forget_tries(store: RecordStore, who: str, address: str) -> None:
    """After a success: the name starts anew, the address gets its try back, and counts that are over are cleared away."""
    name, network = _counters(who, address)
    old = int(store.clock().timestamp() * 1000) - WINDOW_MS
    with writing(store.engine) as connection:
        connection.execute(_FORGET, {"nursery": store.nursery, "what": name})
        connection.execute(_GIVE_BACK, {"nursery": store.nursery, "what": network})
    with writing(store.engine) as connection:
        connection.execute(_CLEAR, {"nursery": store.nursery, "old": old})


def _counters(who: str, address: str) -> Mapping[str, int]:
    """Hashes only: somebody may have typed a password where the name belongs."""
    name = unicodedata.normalize("NFKC", who).strip().casefold()
    return {_hash(f"name {name}"): PER_ACCOUNT, _hash(f"address {_network(address)}"): PER_ADDRESS}


def _network(address: str) -> str:
    """An IPv6 customer has 2**64 addresses or more: they count as one."""
    try:
        parsed = ip_address(address)
    except ValueError:
        return address
    if isinstance(parsed, IPv6Address):
        return str(parsed.ipv4_mapped or IPv6Address(int(parsed) >> 64 << 64))
    return str(parsed)


def _hash(what: str) -> str:
    return hashlib.sha256(what.encode()).hexdigest()
