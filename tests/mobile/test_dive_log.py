"""The details of a dive as they are typed: kept, read back, doubted, and never invented."""

from datetime import UTC, datetime, timedelta, timezone

import pytest
from hypothesis import given
from hypothesis import strategies as st

from mobile.dive_log import DiveDraft, read_clock, read_figure
from shared_schema.entries import DiveLogged
from shared_schema.errors import SchemaError
from tests.mobile.test_preferences import Memory

NOW = datetime(2026, 11, 14, 12, 0, tzinfo=UTC)
CLOCKS = st.one_of(st.just(""), st.times().map(lambda time: f"{time:%H:%M}"))
DRAFTS = st.builds(
    DiveDraft,
    visit=st.sampled_from(["", "k7f3qz-3"]),
    day=st.dates(datetime(2020, 1, 1).date(), datetime(2030, 1, 1).date()).map(lambda day: day.isoformat()),  # noqa: DTZ001
    went_in=CLOCKS,
    came_out=CLOCKS,
    place=st.sampled_from(["", "North reef"]),
    people=st.lists(st.sampled_from(["ana", "ben"]), unique=True).map(tuple),
    depth_cm=st.one_of(st.none(), st.integers(0, 20_000)),
    visibility_cm=st.one_of(st.none(), st.integers(0, 20_000)),
    water_temp_dc=st.one_of(st.none(), st.integers(0, 500)),
    saved=st.booleans(),
)


@given(DRAFTS)
def test_a_draft_outlives_a_restart(draft: DiveDraft) -> None:
    """What was typed is there again, to the last field."""
    memory = Memory()
    draft.keep(memory)
    assert DiveDraft.read(memory) == draft


@given(DRAFTS)
def test_every_draft_makes_an_entry(draft: DiveDraft) -> None:
    """Whatever was typed can be saved; nobody comes out before they went in."""
    fields = {name: value for name, value in draft.fields(UTC).items() if value is not None}
    dive = DiveLogged(id="k7f3qz-3", subject="visit:k7f3qz-3", by="ana", observed=NOW, entered=NOW, **fields)
    if dive.went_in is not None and dive.came_out is not None:
        assert timedelta() <= dive.came_out - dive.went_in < timedelta(days=1)


def test_a_dive_in_the_record_is_read_back_in_this_places_time() -> None:
    """As it was typed, wherever the tablet's clock stands."""
    zone = timezone(timedelta(hours=-4))
    draft = DiveDraft(day="2026-11-14", went_in="23:50", came_out="00:20", depth_cm=1250, people=("ana",))
    dive = DiveLogged(id="k7f3qz-3", subject="visit:k7f3qz-3", by="ana", observed=NOW, entered=NOW, **draft.fields(zone)).payload()
    assert DiveDraft.of("k7f3qz-3", dive, zone) == draft.changed().as_saved("k7f3qz-3")


@pytest.mark.parametrize("kept", [None, 3, {}, {"visit": ""}, {"people": 3}])
def test_what_makes_no_draft_is_taken_as_none(kept: object) -> None:
    """A tablet always starts."""
    assert DiveDraft.read(Memory({"dive_draft": kept})) == DiveDraft()  # type: ignore[dict-item]


@pytest.mark.parametrize(("digits", "clock"), [("", ""), ("0912", "09:12"), ("912", "09:12"), ("0", "00:00"), ("2359", "23:59")])
def test_a_time_is_read_from_its_digits(digits: str, clock: str) -> None:
    """A leading nought may be left out."""
    assert read_clock(digits) == clock


@pytest.mark.parametrize("digits", ["2400", "0960", "12345", "ab"])
def test_what_is_no_time_is_refused(digits: str) -> None:
    """With what to write instead."""
    with pytest.raises(SchemaError, match="0912"):
        read_clock(digits)


def test_figures_become_whole_numbers() -> None:
    """Metres to centimetres, degrees to tenths; nothing typed is nothing measured, and too much is refused."""
    assert read_figure("depth_cm", "12.5") == 1250
    assert read_figure("water_temp_dc", "27.5") == 275
    assert read_figure("visibility_cm", "") is None
    with pytest.raises(SchemaError, match="at most 200"):
        read_figure("depth_cm", "201")


def test_slips_are_asked_about_and_not_refused() -> None:
    """A depth of 99 m, ice water, a dive that ends in the future: named, and kept as they are."""
    usual = DiveDraft(day="2026-11-14", went_in="09:00", came_out="10:00", depth_cm=1250, visibility_cm=800, water_temp_dc=275)
    assert usual.unusual(NOW) == ()
    odd = usual.changed(came_out="13:30", depth_cm=9900, water_temp_dc=20)
    assert odd.unusual(NOW) == ("depth_cm", "water_temp_dc", "came_out")
