"""The whole demo: two years in a database, the real server, two tablets that contradict each other, and what came of it."""

from collections.abc import Callable, Iterator
from concurrent.futures import ThreadPoolExecutor
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import timedelta

from server.access.links import make_link
from server.access.trail import COMMAND_LINE
from server.demo.agreement import as_shown, server_digest, take_along
from server.demo.boats import TabletProgram
from server.demo.calendar import MONTHS, NEWEST
from server.demo.cast import SUPERVISOR
from server.demo.history import live_two_years
from server.demo.host import hosted
from server.demo.outcome import Outcome, read_outcome
from server.demo.scene import LOADED, Boat, play_scene
from server.demo.staging import mark_whole, stage
from server.main import create_app
from server.settings import Settings
from server.store.record import RecordStore
from server.store.tablets import new_code

__all__ = ["Shown", "open_again", "show"]

Step = Callable[[str, int, int], None]


@dataclass(frozen=True, slots=True)
class Shown:
    """What came of it: `tablets` name -> what it holds and shows (agreement.as_shown), `server` the same of the server."""

    link: str
    corals: int
    outcome: Outcome
    tablets: dict[str, str]
    server: str

    @property
    def in_step(self) -> bool:
        """Whether all show the same."""
        return set(self.tablets.values()) == {self.server}


@contextmanager
def show(settings: Settings, port: int, seed: int, step: Step) -> Iterator[Shown]:
    """Build and play the demo in an empty folder; it is served until the block ends. Raises CrosstreeError."""
    step("living two years", 0, 0)
    history = live_two_years(seed)
    stage(settings, history, step).engine.dispose()
    boats = play_scene(history.nursery)
    app = create_app(settings)
    store: RecordStore = app.state.store
    try:
        with hosted(app, port) as url:
            tablets, server = _play(store, settings, url, boats, step)
            step("reading what came of it", 0, 0)
            surveys = [month.survey for month in MONTHS]
            outcome = read_outcome(store, NEWEST.survey, [boat.name for boat in boats], surveys)
            mark_whole(settings)
            yield Shown(_link(store, url), len(history.nursery.corals), outcome, tablets, server)
    finally:
        store.engine.dispose()


@contextmanager
def open_again(settings: Settings, port: int) -> Iterator[str]:
    """Serve a demo as it was left; gives a link. Raises CrosstreeError."""
    app = create_app(settings)
    store: RecordStore = app.state.store
    try:
        with hosted(app, port) as url:
            yield _link(store, url)
    finally:
        store.engine.dispose()


def _link(store: RecordStore, url: str) -> str:
    """A link that opens the pages at once, as long as the demo may wait for somebody to look round."""
    return f"{url}/door/{make_link(store, SUPERVISOR, 'sign_in', COMMAND_LINE, timedelta(days=30))}"


def _play(store: RecordStore, settings: Settings, url: str, boats: tuple[Boat, ...], step: Step) -> tuple[dict[str, str], str]:
    """Both tablets take the map along, record without the server, and sync; then once more, for what the other brought last.

    Gives what each tablet and the server hold and show.
    """
    folder = settings.data / "tablets"
    folder.mkdir(exist_ok=True)
    programs = [TabletProgram(boat.name, folder / f"{boat.name.split()[0].lower()}.sqlite") for boat in boats]
    codes = [new_code(store)[0] for _ in boats]
    taken = take_along(store, settings, NEWEST.survey, LOADED)

    def go_out(program: TabletProgram, boat: Boat, code: str) -> None:
        program.enrol(url, code)
        program.load(NEWEST.survey, LOADED)
        program.record(boat.slip)

    with ThreadPoolExecutor(len(boats)) as crew:
        step("two tablets take the map along and record", 0, 0)
        list(crew.map(go_out, programs, boats, codes))
        for again in ("both sync", "both sync again"):
            step(again, 0, 0)
            list(crew.map(TabletProgram.sync, programs))
        states = list(crew.map(TabletProgram.state, programs))
    shown = {program.name: as_shown(state["folded"], state["heads"]) for program, state in zip(programs, states, strict=True)}
    return shown, as_shown(server_digest(store, taken), store.heads())
