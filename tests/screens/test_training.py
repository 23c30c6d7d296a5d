"""Practice under a finger: the page of a dive in a frame of its own, scored, and never in the record."""

from collections.abc import Iterator
from pathlib import Path

import pytest

from mobile.desk import UNSEEN
from mobile.training import SLATES, Slate
from mobile.widgets.look import LOOK
from tests.screens.dive_stage import DiveStage, dive_staged
from tests.screens.fitting import SIGHTS, all_is_well, words_of
from tests.screens.harness import Glass, Stage, staged
from tests.screens.samples import untouched_tree

pytestmark = [pytest.mark.screen, pytest.mark.usefixtures("compiled_words")]


def texts(stage: Stage) -> str:
    """All that is written on the screen."""
    return "\n".join(label.text for label in stage.labels())


def practise(stage: Stage, slate: Slate) -> None:
    """From the settings to a slate."""
    stage.app.open_settings_screen()
    stage.frames(4)
    stage.tap("practise")
    stage.frames(4)
    stage.tap(f"slate:{slate.key}")
    stage.frames(4)


def enter(stage: Stage, slate: Slate, but: dict[str, str] | None = None) -> None:
    """Tap what is written, or what `but` says instead, and sign off."""
    for path in slate.places:
        status = (but or {}).get(path, slate.at(path).status)
        if status != "alive":
            stage.tap(path)
            stage.tap(f"status:{status}")
    stage.tap("sign_off")
    stage.frames(6)


def kept(stage: DiveStage) -> list[object]:
    """Everything that the tablet keeps, preferences and all."""
    tables = [name for (name,) in stage.store.database.rows("SELECT name FROM sqlite_schema WHERE type = 'table' ORDER BY name")]
    return [stage.store.database.rows(f"SELECT * FROM {name}") for name in tables]


@pytest.mark.parametrize("slate", SLATES, ids=lambda slate: slate.key)
def test_a_slate_that_is_entered_as_it_is_written_is_all_right(slate: Slate) -> None:
    """By taps alone; the time from the slate's coming up to its sign-off is told with the score."""
    with staged(untouched_tree()) as stage:
        practise(stage, slate)
        taps, began = stage.taps, stage.clock.now
        enter(stage, slate)
        assert f"{len(slate.places)} of {len(slate.places)} right, 0:{round(stage.clock.now - began):02}" in texts(stage)
        assert stage.taps - taps <= 2 * len(slate.marks) + 1
        assert "All of it is right." in texts(stage)
        stage.tap("close")
        assert f"{len(slate.places)} of {len(slate.places)} right" in texts(stage)


def test_each_miss_says_where_what_and_why_and_is_shown_on_the_slate() -> None:
    """A letter that was crossed out and a place where nobody looked are told apart, and a tap shows each."""
    tree = SLATES[0]
    with staged(untouched_tree()) as stage:
        practise(stage, tree)
        enter(stage, tree, but={"1.2.3": "bleached", "1.4.4": "alive"})
        found = texts(stage)
        assert "18 of 20 right" in found
        assert "2.3: B entered, not F\nB is crossed out: F counts." in found
        assert "4.4: A entered, not ?\nNothing is written: nobody looked." in found
        before = stage.picture()
        stage.tap("pick:1.4.4")
        stage.frames(4)
        assert stage.picture().tobytes() != before.tobytes()
        stage.tap("again")
        stage.frames(4)
        assert stage.app.training is not None
        assert stage.app.training.practice.page.desk.statuses == {}
        assert "0 marked" in texts(stage)


def test_practice_never_reaches_the_record(tmp_path: Path) -> None:
    """No byte of what the tablet keeps changes by three slates, undo and the other way of entry; the dive stays as it was."""
    with dive_staged(tmp_path / "t.sqlite", at="T07/3") as dive:
        dive.tap("3.2.4", "status:lost")
        stage, before = dive.stage, kept(dive)
        practise(stage, SLATES[0])
        for slate in SLATES:
            if slate is not SLATES[0]:
                stage.tap(f"slate:{slate.key}")
                stage.frames(4)
            stage.tap("way:status_first")
            stage.tap("way:place_first")
            stage.tap(slate.places[0])
            stage.tap("status:dead")
            stage.tap("undo")
            enter(stage, slate, but={slate.places[1]: UNSEEN})
            stage.tap("close")
            stage.frames(4)
        stage.tap("back")
        stage.frames(4)
        stage.tap("back")
        assert kept(dive) == before
        assert dive.desk.view.board.at("3.2.4").status == "lost"
        assert stage.app.shell.screens.current == "dive"


def test_practice_cannot_be_taken_for_a_dive(tmp_path: Path) -> None:
    """While a practice slate is open a frame goes round the screen and words say what it is; on a dive there are neither."""
    words = "Practice: nothing is recorded"
    with dive_staged(tmp_path / "t.sqlite", at="T07/3") as dive:
        stage = dive.stage
        look = tuple(round(part * 255) for part in LOOK.theme.look[:3])
        corners = ((2, 2), (1277, 2), (2, 797), (1277, 797))

        def framed() -> list[bool]:
            picture = stage.picture()
            return [picture.getpixel(corner)[:3] == look for corner in corners]  # type: ignore[index]

        assert framed() == [False] * 4
        assert words not in texts(stage)
        practise(stage, SLATES[0])
        assert framed() == [True] * 4
        assert words in texts(stage)
        assert not {"details", "more"} & set(stage.targets())


def test_leaving_in_the_middle_leads_back_and_scores_nothing() -> None:
    """The way back goes to the slates, then to where it came from; a slate that was not signed has no score."""
    with staged(untouched_tree()) as stage:
        practise(stage, SLATES[1])
        stage.tap("1.2")
        stage.tap("status:sick")
        stage.tap("back")
        assert " right, " not in texts(stage)
        stage.tap("back")
        assert stage.app.shell.screens.current == "settings"


def test_practice_is_one_tap_from_home_and_leads_back_there(tmp_path: Path) -> None:
    """Who waits for the boat finds it where the day starts."""
    with dive_staged(tmp_path / "t.sqlite") as dive:
        stage = dive.stage
        stage.ashore.go_home()
        stage.frames(4)
        stage.tap("practise")
        stage.frames(4)
        assert "slate:tree" in stage.targets()
        stage.tap("back")
        assert stage.app.shell.screens.current == "home"


def test_the_slate_speaks_the_language_of_the_crew() -> None:
    """In another language the letters on the slate are those of its buttons, and the reasons are in it too."""
    with staged(untouched_tree(), language="es") as stage:
        practise(stage, SLATES[0])
        enter(stage, SLATES[0], but={"1.1.2": "alive"})
        assert "1.2: se anotó V, no B" in texts(stage)


def practice_screens(stage: Stage) -> Iterator[str]:
    """One after the other, each with what makes it fullest."""
    stage.app.open_settings_screen()
    stage.frames(4)
    stage.tap("practise")
    stage.frames(6)
    yield "training"
    for slate in SLATES:
        stage.tap(f"slate:{slate.key}")
        stage.frames(6)
        yield f"practice {slate.key}"
        stage.tap("sign_off")
        stage.frames(6)
        yield f"score {slate.key}"
        while "later" in stage.targets():
            stage.tap("later")
            stage.frames(6)
            yield f"score {slate.key}, later"
        stage.tap("close")
        stage.frames(6)
    yield "training, scored"


@pytest.mark.parametrize(("glass", "language"), SIGHTS, ids=str)
def test_everything_in_practice_can_be_hit_and_read(glass: Glass, language: str) -> None:
    """Places beside a slate are as large as on a dive; reasons and explanations fit in every language."""
    with staged(untouched_tree(), glass, words_of(language)) as stage:
        for screen in practice_screens(stage):
            all_is_well(screen, stage)
