"""Who may call which route: one table, complete by a test that goes through all routes of the application.

A route that is not in the table is the supervisor's alone.
"""

from collections.abc import Mapping
from typing import Final, Literal, TypeAlias

__all__ = ["ROLES", "ROUTES", "Role", "Who", "may", "needed"]

Role: TypeAlias = Literal["reader", "crew", "supervisor"]
"""A reader sees the pages; crew writes notes too; a supervisor rules, and lets people and tablets in."""

Who: TypeAlias = Literal["anyone", "tablet", "reader", "crew", "supervisor"]
"""Whom a route is for: everybody, enrolled tablets, or those who signed in and have at least that role."""

ROLES: Final[tuple[Role, ...]] = ("reader", "crew", "supervisor")
"""Each may what those before it may."""

ROUTES: Final[Mapping[str, Who]] = {
    # what tablets call
    "GET /api": "anyone",
    "GET /api/openapi.json": "anyone",
    "POST /api/enrol": "anyone",
    "POST /api/identity": "tablet",
    "POST /api/exchange": "tablet",
    "GET /api/offers": "tablet",
    "POST /api/packs": "tablet",
    "GET /api/packs/{pack}": "tablet",
    "GET /api/photos/{sha256}": "tablet",
    "PUT /api/photos/{sha256}": "tablet",
    "GET /api/photos/{sha256}/bytes": "tablet",
    # the door, and files without any record in them
    "GET /static": "anyone",
    "GET /favicon.ico": "anyone",
    "GET /door": "anyone",
    "POST /door": "anyone",
    "GET /door/{link}": "anyone",
    "POST /door/{link}": "anyone",
    # what everybody may who signed in
    "POST /leave": "reader",
    "GET /account": "reader",
    "POST /account/password": "reader",
    "POST /account/language": "reader",
    "POST /sessions/others/ended": "reader",
    "POST /sessions/{session}/ended": "reader",
    # the record
    "GET /": "reader",
    "GET /plan": "supervisor",
    "POST /plan": "supervisor",
    "GET /surveys/{survey}": "reader",
    "GET /surveys/{survey}/plan": "reader",
    "GET /surveys/{survey}/coverage": "reader",
    "GET /surveys/{survey}/unlikely": "reader",
    "POST /surveys/{survey}/unlikely": "supervisor",
    "POST /surveys/{survey}/unlikely/taken-back": "supervisor",
    "POST /surveys/{survey}/plan": "supervisor",
    "GET /surveys/{survey}/structures/{structure}": "reader",
    "GET /surveys/{survey}/questions": "reader",
    "GET /surveys/{survey}/structures/{structure}/questions": "reader",
    "GET /surveys/{survey}/questions/{sort}/{name:path}/{fact}": "reader",
    "POST /surveys/{survey}/questions/{sort}/{name:path}/{fact}": "supervisor",
    "POST /claims": "supervisor",
    "POST /claims/ended": "supervisor",
    "GET /rulings/{ruling}": "reader",
    "POST /rulings/{ruling}/taken-back": "supervisor",
    "GET /surveys/{survey}/rules": "reader",
    "POST /surveys/{survey}/rules": "supervisor",
    "GET /rulings/batches/{batch}": "reader",
    "POST /rulings/batches/{batch}/taken-back": "supervisor",
    "GET /surveys/{survey}/sign-off": "reader",
    "POST /surveys/{survey}/sign-off": "supervisor",
    "POST /surveys/{survey}/sign-off/taken-back": "supervisor",
    "GET /fragments/{name}": "reader",
    "POST /fragments/{name}/notes": "crew",
    "GET /surveys/{survey}/map": "reader",
    "GET /surveys/{survey}/positions": "reader",
    "GET /surveys/{survey}/digest": "reader",
    "GET /surveys/{survey}/stock/{column}": "reader",
    "GET /surveys/{survey}/entries/{sort}/{name:path}": "reader",
    "GET /positions/{address:path}": "reader",
    "GET /genets": "reader",
    "GET /genets/{name}": "reader",
    "GET /structures": "reader",
    "GET /structures/{structure}": "reader",
    "GET /crew/{person}": "reader",
    "GET /sites/{site}": "reader",
    "GET /photos/{sha256}": "reader",
    "GET /photos/{sha256}/small": "reader",
    "GET /search": "reader",
    "GET /live": "reader",
    "GET /discrepancies": "reader",
    "GET /discrepancies/{sort}/{survey}/{names}": "reader",
    "POST /discrepancies/{sort}/{survey}/{names}": "supervisor",
    "GET /fragments/{name}/correct": "supervisor",
    "POST /fragments/{name}/correct": "supervisor",
    "GET /corrections/{correction}": "reader",
    "POST /corrections/{correction}/taken-back": "supervisor",
    "GET /set-aside": "reader",
    # people and tablets
    "GET /tablets": "reader",
    "POST /tablets/codes": "supervisor",
    "POST /tablets/{tablet}/withdrawn": "supervisor",
    "POST /tablets/{tablet}/let-in": "supervisor",
    "GET /people": "supervisor",
    "POST /people": "supervisor",
    "GET /people/{person}": "supervisor",
    "POST /people/{person}/role": "supervisor",
    "POST /people/{person}/active": "supervisor",
    "POST /people/{person}/link": "supervisor",
    "GET /trail": "supervisor",
}
"""Method and path of a route, as the application declares it -> whom it is for."""


def needed(method: str, path: str) -> Who:
    """Whom a route is for."""
    return ROUTES.get(f"{'GET' if method == 'HEAD' else method} {path}", "supervisor")


def may(role: Role, who: Who) -> bool:
    """Whether somebody with a role is among those a route is for. Tablets' routes are nobody else's."""
    if who == "tablet":
        return False
    return who == "anyone" or ROLES.index(role) >= ROLES.index(who)
