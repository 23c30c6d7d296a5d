"""The demo: an invented nursery, the same for everybody who looks at it."""

import json
import subprocess
import sys
from collections import Counter, defaultdict
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from sqlalchemy import and_, func, update
from sqlmodel import col

from server.demo.agreement import server_digest, take_along
from server.demo.calendar import LAST, MONTHS, NEWEST
from server.demo.cast import GENETS, NURSERY, PEOPLE, SITES, STRUCTURES
from server.demo.history import History, live_two_years
from server.demo.scene import LOADED, play_scene
from server.demo.staging import clear, is_whole, mark_whole, stage
from server.demo.telling import tell_agreement
from server.review.discrepancies import list_discrepancies
from server.review.questions import list_questions
from server.settings import Settings
from server.store.engine import writing
from server.store.models import FindingRow
from server.store.opening import create_nursery, nursery_of
from server.store.record import RecordStore
from shared_schema.entries import read_entry, write_entry
from shared_schema.errors import RecordError
from shared_schema.ids import parse_address, split_subject
from shared_schema.lineage import generations


def lines_of(history: History) -> list[bytes]:
    """Every line, in the order of its arrival."""
    return [line for batch in history.batches for line in batch.lines]


@pytest.fixture(scope="module")
def history() -> History:
    """The two years that everybody sees who gives no seed."""
    return live_two_years(1)


@pytest.fixture(scope="module")
def bodies(history: History) -> list[dict[str, Any]]:
    """The same as JSON objects."""
    return [json.loads(line) for line in lines_of(history)]


def settings_in(folder: Path) -> Settings:
    """A database file in a folder."""
    return Settings.of(folder, f"sqlite:///{folder / 'crosstree.sqlite'}")


def test_one_seed_gives_the_same_bytes_and_another_does_not(history: History) -> None:
    """What is told of the demo holds for whoever runs it."""
    assert live_two_years(1).batches == history.batches
    assert live_two_years(2).batches != history.batches


def test_every_line_is_an_entry_as_a_program_would_write_it(history: History) -> None:
    """Nothing in it would be set aside, and its numbers run without a gap."""
    heads: Counter[str] = Counter()
    for line in lines_of(history):
        entry = read_entry(line)
        assert json.loads(write_entry(entry)) == json.loads(line)
        heads[entry.writer] += 1
        assert entry.entry_id.number == heads[entry.writer]
    assert sum(heads.values()) > 30_000


def test_two_years_hold_what_happens_to_a_nursery(history: History, bodies: list[dict[str, Any]]) -> None:
    """Monthly surveys, snails, a storm, heat that fades corals before it bleaches them, restocking down to F3, outplanting."""
    seen: defaultdict[str, Counter[str]] = defaultdict(Counter)
    for body in bodies:
        if body["kind"] == "condition_seen":
            seen[body["survey"]][body["status"]] += 1
    assert sorted(seen) == [month.survey for month in MONTHS]
    assert len(MONTHS) == 23
    assert seen["2025-06"]["preyed_on"] > 10 * seen["2025-02"]["preyed_on"]
    assert seen["2025-09"]["lost"] > 5 * seen["2025-08"]["lost"]
    assert seen["2026-07"]["fading"] > seen["2026-07"]["bleached"]
    assert seen["2026-09"]["bleached"] > seen["2026-08"]["bleached"] > seen["2026-07"]["bleached"]
    assert seen["2026-10"]["dead"] > 3 * seen["2026-07"]["dead"]
    parents = {coral.name: coral.parent for coral in history.nursery.corals.values()}
    assert set(generations(parents).values()) == {0, 1, 2, 3}
    sites = {body["place"] for body in bodies if body["kind"] == "fragment_outplanted"}
    assert sites == {f"site:{site}" for site in SITES}


def test_genets_differ_in_what_heat_does_to_them(bodies: list[dict[str, Any]]) -> None:
    """The genet that suffers most bleaches several times as often as the one that suffers least."""
    genet_of = {split_subject(body["subject"])[1]: body["genet"] for body in bodies if body["kind"] == "fragment_planted"}
    looked: Counter[str] = Counter()
    white: Counter[str] = Counter()
    for body in bodies:
        if body["kind"] == "condition_seen" and body["survey"] == "2026-09":
            genet = genet_of[split_subject(body["subject"])[1]]
            looked[genet] += 1
            white[genet] += body["status"] == "bleached"
    most = max(GENETS, key=lambda name: GENETS[name].heat)
    least = min(GENETS, key=lambda name: GENETS[name].heat)
    assert white[most] / looked[most] > 0.4
    assert white[least] / looked[least] < 0.1


def test_everything_hangs_where_its_structure_has_a_position(bodies: list[dict[str, Any]]) -> None:
    """No address of the demo leads nowhere."""
    paths = {name: {position.path for position in hung.design.positions} for name, hung in STRUCTURES.items()}
    for body in bodies:
        for field in ("place", "seen_at"):
            if body["kind"] != "dive_logged" and "/" in body.get(field, ""):
                address = parse_address(body[field])
                assert address.path in paths[address.structure]


@pytest.fixture(scope="module")
def staged(tmp_path_factory: pytest.TempPathFactory, history: History) -> Iterator[tuple[Settings, RecordStore]]:
    """The two years in a database."""
    settings = settings_in(tmp_path_factory.mktemp("staged"))
    store = stage(settings, history, lambda *_: None)
    yield settings, store
    store.engine.dispose()


def test_the_record_of_the_demo_is_marked_as_invented_and_has_loose_ends(staged: tuple[Settings, RecordStore]) -> None:
    """Its name and its row say so; two questions and each sort of slip wait for whoever looks round."""
    _, store = staged
    assert nursery_of(store).demo
    assert "demo" in NURSERY
    assert "demo" in nursery_of(store).name
    assert len(list_questions(store, LAST)) == 2
    assert sum(len(list_questions(store, month.survey)) for month in MONTHS) == 2
    assert {"two_in_one_place", "tag_twice", "unknown_parent"} <= {one.sort for one in list_discrepancies(store)}


def test_whoever_shows_something_else_is_told_apart(staged: tuple[Settings, RecordStore]) -> None:
    """One wrong row in the server's read tables changes its hash, and the tablet that is not in step is named."""
    settings, store = staged
    taken = take_along(store, settings, NEWEST.survey, ["T07"])
    right = server_digest(store, taken)
    assert server_digest(store, taken) == right
    subject = next(subject for _, subject in sorted(taken.groups) if subject.startswith("fragment:"))
    row = and_(col(FindingRow.survey) == "", col(FindingRow.subject) == subject)
    with writing(store.engine) as connection:
        connection.execute(update(FindingRow).where(row).values(slots=func.replace(col(FindingRow.slots), "T07/", "T08/")))
    assert server_digest(store, taken) != right
    assert "NOT in step with the server: Pelican." in tell_agreement({"Gannet": right, "Pelican": "other"}, right)


def test_both_crews_speak_of_the_maps_they_took_along() -> None:
    """Every line of their slips names a known diver and a structure of the pack."""
    for boat in play_scene(live_two_years(1).nursery):
        assert len(boat.slip) > 30
        for line in boat.slip:
            assert line["by"] in PEOPLE
            where = next(str(line[key]) for key in ("at", "move", "sign_off", "not_reached", "upkeep", "place") if key in line)
            assert where.partition("/")[0] in LOADED
    assert NEWEST.survey > LAST


def test_a_demo_that_was_broken_off_is_built_anew_and_a_nursery_is_left_alone(tmp_path: Path) -> None:
    """A half-built demo is cleared away; a folder with somebody's nursery is refused, and nothing in it is touched."""
    half = settings_in(tmp_path / "half")
    create_nursery(half, NURSERY, demo=True).engine.dispose()
    assert not is_whole(half)
    assert half.database_file is not None
    assert not half.database_file.exists()
    create_nursery(half, NURSERY, demo=True).engine.dispose()
    mark_whole(half)
    assert is_whole(half)
    clear(half)
    assert not is_whole(half)
    own = settings_in(tmp_path / "own")
    create_nursery(own, "Ours").engine.dispose()
    before = sorted(own.data.iterdir())
    with pytest.raises(RecordError, match="Ours"):
        is_whole(own)
    assert sorted(own.data.iterdir()) == before


def test_the_demo_tells_the_same_twice_and_tablets_and_server_agree() -> None:
    """Two real runs, with tablets as programs of their own over HTTP, end well and print equal text."""
    command = [sys.executable, "-c", "from server.cli import app; app()", "demo", "--once"]
    told = [subprocess.run(command, capture_output=True, encoding="utf-8", timeout=300, check=False) for _ in range(2)]
    assert [(one.returncode, one.stderr) for one in told] == [(0, ""), (0, "")]
    assert told[0].stdout == told[1].stdout
    assert "What merged" in told[0].stdout
    assert "Téo says" in told[0].stdout
    assert "that is no contradiction" in told[0].stdout
    assert "both hang at" in told[0].stdout
    assert "not reached" in told[0].stdout
    assert "In step: Gannet (demo) and Pelican (demo) and the server" in told[0].stdout
