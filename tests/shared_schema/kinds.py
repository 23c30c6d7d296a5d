"""Any entry of any kind, and any value of any register fact."""

from datetime import UTC, datetime, timedelta, timezone
from typing import Any, Final, get_args

from hypothesis import strategies as st

from shared_schema import entries as kinds
from shared_schema import facts
from shared_schema.designs import design_fields, parse_design
from shared_schema.envelope import BaseEntry
from tests.shared_schema.alphabets import ADDRESSES, NAMES, PLACES, SURVEYS, WRITERS

__all__ = ["ENTRIES", "LINES_OF_TEXT", "MOMENTS", "envelopes", "ids", "values_of"]

Fields = dict[str, st.SearchStrategy[Any]]

LINES_OF_TEXT: Final = st.text(st.characters(exclude_categories=["Cs", "Cc"]), min_size=1, max_size=20) | st.just("x" * 200)
TEXTS: Final = st.text(max_size=30)
MOMENTS: Final = st.builds(
    lambda moment, minutes: moment.replace(tzinfo=timezone(timedelta(minutes=minutes)) if minutes else UTC),
    st.datetimes(datetime(1970, 1, 1), datetime(2100, 1, 1)),  # noqa: DTZ001 - the offset is drawn apart
    st.integers(-14 * 60, 14 * 60),
)
"""Moments of any clock, offset included, to the minute as the wire can carry it."""

_counts: Final = st.integers(0, 300)
_millimetres: Final = st.integers(0, 100_000)
_sha256: Final = st.text("0123456789abcdef", min_size=64, max_size=64)
_designs: Final = st.builds(
    lambda length, spacing: design_fields(
        parse_design({"design": "line", "unit": "cm", "length": str(length), "spacing": str(spacing)})
    ),
    st.integers(200, 900),
    st.integers(10, 50),
)


def ids(writers: st.SearchStrategy[str] = WRITERS) -> st.SearchStrategy[str]:
    """Ids of entries by these writers."""
    return st.builds("{}-{}".format, writers, st.integers(1, 10**9))


def _choice(literal: Any) -> st.SearchStrategy[Any]:
    return st.sampled_from(get_args(literal))


def _several(literal: Any) -> st.SearchStrategy[Any]:
    return st.lists(_choice(literal), max_size=3).map(lambda some: tuple(sorted(set(some))))


_VALUES: Final[Fields] = {
    "status": _choice(facts.Status),
    "live_tissue": st.integers(0, 100),
    "bleaching": _choice(facts.Bleaching),
    "predator": _choice(facts.Predator),
    "signs": _several(facts.Sign),
    "overgrowth": _several(facts.Overgrowth),
    "breakage": _choice(facts.Breakage),
    "tie": _choice(facts.Tie),
    "seen_at": ADDRESSES,
    **dict.fromkeys(("length_mm", "width_mm", "height_mm", "tle_mm"), _millimetres),
    "place": PLACES,
    "genet": NAMES,
    "parent": NAMES,
    **dict.fromkeys(("donor", "accession", "tag", "name", "species", "location"), LINES_OF_TEXT),
    "tag_state": st.sampled_from(("readable", "unreadable", "missing")),
    "aphia_id": st.integers(1, 10**7),
    "role": st.sampled_from(("crew", "supervisor")),
    "design": _designs,
    "depth_cm": st.integers(0, 20_000),
    "structures": st.lists(NAMES, max_size=3).map(tuple),
    "people": st.lists(NAMES, max_size=3).map(tuple),
    "opens": st.dates().map(str),
    "closes": st.dates().map(str),
    "dive": st.dictionaries(st.sampled_from(("place", "people")), LINES_OF_TEXT | st.none() | st.lists(st.integers())),
}


def values_of(fact: str) -> st.SearchStrategy[Any]:
    """Values of a register fact."""
    return _VALUES[fact]


_OWN: Final[dict[str, tuple[Fields, Fields]]] = {
    "fragment_planted": ({}, {}),
    "fragment_moved": ({}, {"reason": TEXTS}),
    "condition_seen": ({"status": _VALUES["status"]}, {"basis": st.sampled_from(("tapped", "signed_off"))}),
    "size_measured": ({"length_mm": _millimetres}, {}),
    "tag_checked": ({}, {}),
    "upkeep_done": (
        {"work": st.lists(_choice(facts.Upkeep), min_size=1, max_size=3).map(tuple)},
        {"minutes": st.integers(0, 1440)},
    ),
    "page_signed_off": ({"alive": _counts, "marked": _counts, "unseen": _counts}, {"seconds": _counts}),
    "page_not_reached": ({}, {"reason": TEXTS}),
    "fragment_harvested": ({"pieces": st.integers(1, 10_000)}, {"length_mm": _millimetres}),
    "fragment_outplanted": ({"place": NAMES.map("site:{}".format)}, {"method": TEXTS}),
    "note_made": ({"text": st.text(min_size=1, max_size=60)}, {"about": ids(), "fact": st.sampled_from(sorted(_VALUES))}),
    "photo_taken": (
        {"sha256": _sha256, "size": st.integers(1, 10**8)},
        {
            "media_type": st.sampled_from(("image/jpeg", "image/png", "image/webp")),
            "caption": TEXTS,
            "slate": st.booleans(),
        },
    ),
    "dive_logged": (
        {},
        {
            "people": st.lists(NAMES, max_size=3).map(tuple),
            "place": LINES_OF_TEXT,
            "went_in": MOMENTS,
            "came_out": MOMENTS,
            "depth_cm": st.integers(0, 20_000),
            "visibility_cm": st.integers(0, 20_000),
            "water_temp_dc": st.integers(-50, 500),
        },
    ),
    "genet_registered": ({}, {}),
    "structure_hung": ({"design": _designs}, {}),
    "person_listed": ({}, {}),
    "survey_planned": ({}, {}),
    "survey_signed_off": (
        {
            "questions": st.integers(0, 999),
            "unseen": st.integers(0, 999),
            "not_reached": st.integers(0, 999),
            "heads": st.dictionaries(WRITERS, st.integers(0, 10**6), max_size=3),
        },
        {
            "statement": TEXTS,
            "unsigned": st.integers(0, 999),
            "unlikely": st.integers(0, 999),
            "kept_open": st.lists(ids(), max_size=3),
        },
    ),
    "entry_withdrawn": ({"target": ids()}, {"reason": TEXTS, "batch": NAMES}),
}
"""kind -> (fields that it must have, fields that it may have), besides the envelope and the facts that it states."""


@st.composite
def envelopes(draw: st.DrawFn, kind: type[BaseEntry], writers: st.SearchStrategy[str] = WRITERS) -> dict[str, Any]:
    """The envelope of an entry of this kind."""
    sort = draw(st.sampled_from(kind.SORTS))
    fields: dict[str, Any] = {
        "id": draw(ids(writers)),
        "subject": f"{sort}:{draw(ADDRESSES if sort in ('page', 'position') else NAMES)}",
        "by": draw(NAMES),
        "observed": draw(MOMENTS),
        "entered": draw(MOMENTS),
    }
    optional: Fields = {"survey": SURVEYS, "typed_by": NAMES, "visit": NAMES, "replaces": st.lists(ids(), max_size=3).map(tuple)}
    return fields | draw(st.fixed_dictionaries({}, optional=optional))


@st.composite
def _entries(draw: st.DrawFn, kind: str) -> BaseEntry:
    model = kinds.KINDS[kind]
    must, may = _OWN[kind]
    stated: Fields = {name: _VALUES[name] for name in model.STATES if name in model.model_fields} | may
    needed = {name: strategy for name, strategy in stated.items() if model.model_fields[name].is_required()} | must
    rest = {name: strategy for name, strategy in stated.items() if name not in needed}
    writers = st.just("office2ab4") if kind == "survey_signed_off" else WRITERS
    return model(**draw(envelopes(model, writers)), **draw(st.fixed_dictionaries(needed, optional=rest)))


@st.composite
def _rulings(draw: st.DrawFn) -> BaseEntry:
    fact = draw(st.sampled_from(sorted(_VALUES)))
    value = draw(_VALUES[fact])
    own: dict[str, Any] = {"fact": fact, "value": list(value) if isinstance(value, tuple) else value}
    rest = draw(st.fixed_dictionaries({}, optional={"reason": TEXTS, "batch": NAMES}))
    return kinds.RulingGiven(**draw(envelopes(kinds.RulingGiven, st.just("office2ab4"))), **own, **rest)


ENTRIES: Final[dict[str, st.SearchStrategy[BaseEntry]]] = {kind: _entries(kind) for kind in _OWN} | {"ruling_given": _rulings()}
"""kind -> entries of it."""
