"""The facts that entries state, and how each folds.

A *register* holds one value: two who differ without knowing of each other disagree, and somebody has to look. A *log*
counts every entry that still stands: cleaning a tree twice is no contradiction.

Until a disagreement is settled, the value that calls for more attention is shown: `attention` ranks them.
"""

import json
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from typing import Annotated, Any, Final, Literal, TypeAlias

from pydantic import AfterValidator, BeforeValidator, Field, JsonValue, StringConstraints, TypeAdapter
from pydantic_core import PydanticCustomError

from shared_schema.designs import design_fields, parse_design
from shared_schema.ids import AddressText, Name, PlaceText

__all__ = [
    "FACTS",
    "GONE",
    "LIVING",
    "LOGS",
    "Bleaching",
    "Breakage",
    "ExactJson",
    "Fact",
    "Millimetres",
    "Overgrowth",
    "Overgrowths",
    "Parameters",
    "Percent",
    "Predator",
    "RegisterFact",
    "Sign",
    "Signs",
    "Status",
    "Text",
    "Tie",
    "Upkeep",
    "Word",
    "attention",
    "value_key",
]

Status: TypeAlias = Literal["alive", "could_not_tell", "fading", "bleached", "preyed_on", "sick", "dead", "lost"]
"""What a diver saw, by the attention that it calls for. `dead` is dead in place; `lost` is not found, which is not the
same; `sick` means signs of disease, never a diagnosis. Not looked at is no status: nobody said anything."""

LIVING: Final[frozenset[str]] = frozenset({"alive", "fading", "bleached", "preyed_on", "sick"})
GONE: Final[frozenset[str]] = frozenset({"lost"})

Bleaching: TypeAlias = Literal["none", "pale", "partial", "full"]
Predator: TypeAlias = Literal["snail", "fireworm", "damselfish", "butterflyfish", "parrotfish", "other", "not_seen"]
Sign: TypeAlias = Literal["tissue_loss", "band", "spots", "growth", "colour", "other"]
Overgrowth: TypeAlias = Literal["fire_coral", "algae", "hydroid", "tunicate", "sponge", "barnacle", "other"]
Breakage: TypeAlias = Literal["none", "tips", "branches", "most"]
Tie: TypeAlias = Literal["tight", "loose", "missing"]
Upkeep: TypeAlias = Literal[
    "cleaned",
    "tie_replaced",
    "predators_removed",
    "float_checked",
    "anchor_checked",
    "arm_replaced",
    "tag_cleaned",
    "repaired",
    "rehung",
]

Signs = Annotated[tuple[Sign, ...], AfterValidator(lambda several: tuple(sorted(set(several))))]
Overgrowths = Annotated[tuple[Overgrowth, ...], AfterValidator(lambda several: tuple(sorted(set(several))))]
Percent = Annotated[int, Field(ge=0, le=100, strict=True)]
Millimetres = Annotated[int, Field(ge=0, le=100_000, strict=True)]
Word = Annotated[str, Field(min_length=1, max_length=200, pattern=r"^[^\x00-\x1f\x7f]*$")]
Text = Annotated[str, StringConstraints(max_length=4000)]
"""One line of text: no line ends, nor other control characters, which not every database stores."""


def _exact(value: JsonValue) -> JsonValue:
    if type(value) is float:
        raise PydanticCustomError(
            "binary_float", "{value} is a binary float: write a whole number, or digits as text", {"value": repr(value)}
        )
    for part in value.values() if isinstance(value, dict) else value if isinstance(value, list) else ():
        _exact(part)
    return value


def _written_one_way(design: Any) -> Any:
    return design_fields(parse_design(design)) if isinstance(design, dict) else design


ExactJson = Annotated[JsonValue, AfterValidator(_exact)]
"""Any JSON value without a binary float in it."""
Parameters = Annotated[dict[str, JsonValue], BeforeValidator(_written_one_way)]
"""A design from which a structure can be built. Equal designs become equal values: "7.0" and 7 are no disagreement."""


@dataclass(frozen=True, slots=True)
class Fact:
    """One thing that can be stated of a subject.

    `kind_of_value` is the type its values must have; `ranks`, where given, lists values from little to much attention, and
    what it leaves out calls for more than all of them; `descending` says that of two numbers the smaller one calls for more.
    """

    name: str
    mode: Literal["register", "log"]
    kind_of_value: Any
    ranks: tuple[Any, ...] = ()
    descending: bool = False

    def check(self, value: Any) -> Any:
        """The value in its own type. Raises pydantic.ValidationError."""
        return _adapter(self.name).validate_python(value)


def _register(name: str, kind_of_value: Any, *ranks: Any, descending: bool = False) -> Fact:
    return Fact(name, "register", kind_of_value, ranks, descending)


def _log(name: str) -> Fact:
    return Fact(name, "log", JsonValue)


FACTS: Final[Mapping[str, Fact]] = {
    fact.name: fact
    for fact in (
        _register("status", Status, "alive", "could_not_tell", "fading", "bleached", "preyed_on", "sick", "dead", "lost"),
        _register("live_tissue", Percent, descending=True),
        _register("bleaching", Bleaching, "none", "pale", "partial", "full"),
        _register("predator", Predator, "not_seen"),
        _register("signs", Signs),
        _register("overgrowth", Overgrowths),
        _register("breakage", Breakage, "none", "tips", "branches", "most"),
        _register("tie", Tie, "tight", "loose", "missing"),
        _register("seen_at", AddressText),
        _register("length_mm", Millimetres, descending=True),
        _register("width_mm", Millimetres, descending=True),
        _register("height_mm", Millimetres, descending=True),
        _register("tle_mm", Millimetres, descending=True),
        _register("place", PlaceText),
        _register("genet", Name),
        _register("parent", Name),
        _register("donor", Word),
        _register("accession", Word),
        _register("tag", Word),
        _register("tag_state", Literal["readable", "unreadable", "missing"], "readable", "unreadable", "missing"),
        _register("name", Word),
        _register("species", Word),
        _register("aphia_id", Annotated[int, Field(ge=1)]),
        _register("role", Literal["crew", "supervisor"]),
        _register("design", Parameters),
        _register("depth_cm", Annotated[int, Field(ge=0, le=100_000)]),
        _register("location", Word),
        _register("structures", tuple[Name, ...]),
        _register("opens", Word),
        _register("closes", Word),
        _register("people", tuple[Name, ...]),
        _register("dive", dict[str, ExactJson]),
        _log("upkeep"),
        _log("coverage"),
        _log("harvest"),
        _log("note"),
        _log("photo"),
        _log("sign_off"),
    )
}
"""Every fact by name. `subject` naming follows ids.py; lengths are whole millimetres, live tissue whole percent."""

LOGS: Final[frozenset[str]] = frozenset(name for name, fact in FACTS.items() if fact.mode == "log")


def _holds_one_value(name: str) -> str:
    if name not in FACTS or name in LOGS:
        raise ValueError(f"fact {name!r} holds no single value: choose one of {', '.join(one for one in FACTS if one not in LOGS)}")
    return name


RegisterFact = Annotated[str, AfterValidator(_holds_one_value)]
"""The name of a fact that holds one value, and so can be in question."""


@cache
def _adapter(name: str) -> TypeAdapter[Any]:
    return TypeAdapter(FACTS[name].kind_of_value)


def value_key(value: Any) -> str:
    """A text that is equal for equal values and orders any two of a fact."""
    return value if isinstance(value, str) else json.dumps(value, sort_keys=True, separators=(",", ":"))


def attention(fact: str, value: Any) -> tuple[float, str]:
    """How much a value calls for attention, against other values of the same fact: the larger, the more.

    Of two lists, as of signs, the longer one: something seen calls for more than nothing seen.
    """
    known = FACTS.get(fact)
    if known is None:
        return (0, value_key(value))
    if known.ranks:
        return (known.ranks.index(value) if value in known.ranks else len(known.ranks), value_key(value))
    if isinstance(value, int):
        return (-value if known.descending else value, value_key(value))
    return (len(value) if isinstance(value, tuple | list) else 0, value_key(value))
