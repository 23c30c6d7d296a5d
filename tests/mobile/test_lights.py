"""Whether the boat can leave, and what the platform says of its battery."""

from pathlib import Path

import pytest

from mobile.battery import Battery, read_battery
from mobile.lights import light_up, worst
from mobile.readiness import ENOUGH_BYTES
from tests.mobile.nursery import SURVEY, tablet
from tests.mobile.syncing import a_server, syncing


def supply(folder: Path, name: str, **files: str) -> None:
    """A power supply as Linux describes it."""
    (folder / name).mkdir(parents=True)
    for file, text in files.items():
        (folder / name / file).write_text(text + "\n")


def test_the_emptiest_battery_of_the_tablet_counts(tmp_path: Path) -> None:
    """Not a mouse's, nor the mains."""
    supply(tmp_path, "AC", type="Mains", online="1")
    supply(tmp_path, "BAT0", type="Battery", capacity="80", status="Discharging")
    supply(tmp_path, "BAT1", type="Battery", capacity="35", status="Charging")
    supply(tmp_path, "mouse", type="Battery", scope="Device", capacity="5", status="Discharging")
    assert read_battery(tmp_path) == Battery(35, charging=True)


def test_where_nobody_tells_nothing_is_made_up(tmp_path: Path) -> None:
    """No folder, no battery, or one that says nonsense."""
    assert read_battery(tmp_path / "none") is None
    supply(tmp_path, "BAT0", type="Battery", capacity="much", status="Full")
    assert read_battery(tmp_path) is None


@pytest.mark.parametrize(("percent", "state"), [(100, "good"), (50, "good"), (49, "look"), (20, "look"), (19, "stop")])
def test_a_tablet_that_is_ready_shows_it(tmp_path: Path, percent: int, state: str) -> None:
    """Loaded, with room and a right clock: then the battery decides."""
    with tablet(tmp_path / "a.sqlite") as store:
        syncing(store, a_server()).load_pack(SURVEY, ["T01", "T02"])
        store.settings.put(clock_off_s=-40)
        lights = light_up(store, SURVEY, Battery(percent, charging=False), ENOUGH_BYTES)
        assert [(light.sort, light.state) for light in lights] == [
            ("maps", "good"),
            ("clock", "good"),
            ("storage", "good"),
            ("battery", state),
        ]
        assert worst(lights) == state


def test_a_tablet_that_is_not_ready_says_what_is_missing(tmp_path: Path) -> None:
    """Nothing loaded, a clock that is off, no room, no word of the battery."""
    with tablet(tmp_path / "a.sqlite") as store:
        store.settings.put(clock_off_s=400)
        lights = light_up(store, SURVEY, None, 1_000_000)
        assert [light.state for light in lights] == ["stop", "look", "stop", "look"]
        assert [light.figure for light in lights] == [0, 400, 1, None]
        assert worst(lights) == "stop"
    assert worst(()) == "look"
