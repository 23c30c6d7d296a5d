"""Sites on the reef that corals were brought to: those used on this tablet, and those that somebody spoke of."""

import re

from pydantic import JsonValue

from mobile.store import Store
from shared_schema.errors import SchemaError

__all__ = ["known_sites", "remember_site", "site_name"]

_MOST = 12


def known_sites(store: Store) -> tuple[str, ...]:
    """Their names, the one used last first."""
    kept = store.settings.get("sites")
    used = [str(name) for name in kept] if isinstance(kept, list) else []
    spoken = store.database.rows(
        "SELECT DISTINCT subject FROM entry WHERE subject >= 'site:' AND subject < 'site;' ORDER BY subject"
    )
    return tuple(dict.fromkeys([*used, *(row[0].removeprefix("site:") for row in spoken)]))


def remember_site(store: Store, site: str) -> None:
    """It is offered first from now on."""
    sites: list[JsonValue] = [site, *(name for name in known_sites(store) if name != site)]
    store.settings.put(sites=sites[:_MOST])


def site_name(typed: str) -> str:
    """What was typed as a site's name goes: `North reef 2` -> `North-reef-2`. Raises SchemaError where nothing is left."""
    name = re.sub(r"[^\w.]+", "-", typed.strip()).strip("-.")[:48]
    if not name:
        raise SchemaError(f"{typed!r} is no name for a site: write one with letters or digits")
    return name
