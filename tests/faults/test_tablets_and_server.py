"""Tablets, an office and a server through everything that happens to them: in the end nothing is lost, and nothing doubled."""

import json
import shutil
import sys
from collections.abc import Iterator
from contextlib import ExitStack
from dataclasses import dataclass
from datetime import UTC, datetime
from typing import Final

import httpx
import pytest
from hypothesis import settings
from hypothesis import strategies as st
from hypothesis.stateful import (
    Bundle,
    MultipleResults,
    RuleBasedStateMachine,
    initialize,
    multiple,
    rule,
    run_state_machine_as_test,
)

from mobile.outbox import Outbox
from mobile.recorder import Recorder
from mobile.store import Store
from mobile.sync import Outcome, Sync
from server.review.questions import list_questions, read_question
from server.review.rulings import give_ruling
from server.store.checking import check_record
from shared_schema.entries import entry_id_of, read_entry
from shared_schema.errors import NothingSuch
from shared_schema.fold import Finding, Record
from shared_schema.ids import EntryId, Heads
from tests.faults.deeds import DEEDS, STATUSES, Deed, people, places, several_deeds
from tests.faults.ledger import Ledger
from tests.faults.office import PACKED, Beginning, Office, beginning, never
from tests.faults.weather import MISHAPS, Mishap, Weather
from tests.mobile.nursery import NOW, SURVEY, Ticking
from tests.scratch import scratch_folder

WRONG_CLOCKS: Final = (NOW, datetime(1970, 1, 1, tzinfo=UTC), datetime(2090, 6, 1, tzinfo=UTC))


@dataclass
class Tablet:
    """A tablet that somebody carries; `fresh` says that it was in step since the server was last put back."""

    store: Store
    clock: Ticking
    packed: bool
    fresh: bool = True

    @property
    def names(self) -> set[str]:
        """Who it is to the server, and who it was as long as something is to be sent under that name."""
        left = [one.writer for one in self.store.identities.all if Outbox(self.store).speaks(one)]
        return {self.store.identities.own.writer, *left}


class TabletsAndServer(RuleBasedStateMachine):
    """What may happen, in any order."""

    names: Bundle[str] = Bundle("names")

    def __init__(self, start: Beginning) -> None:
        super().__init__()
        self.open = ExitStack()
        self.folder = self.open.enter_context(scratch_folder())
        self.start, self.office, self.ledger = start, Office.begin(start, self.folder), Ledger()
        self.open.callback(self.office.close)
        self.weather = Weather()
        # Only the weather loses things here: a machine that is busy must not look like it.
        self.client = self.open.enter_context(httpx.Client(transport=self.weather, timeout=60))
        self.tablets: dict[str, Tablet] = {}
        self.backups = [(self.office.back_up(by_hand=True), self.office.record.heads())]

    @initialize(target=names)
    def they_begin(self) -> MultipleResults[str]:
        """All are in step."""
        for name, path in self.start.tablets.items():
            shutil.copy(path, self.folder / path.name)
            self.tablets[name] = Tablet(Store(self.folder / path.name), Ticking(), packed=name == PACKED)
        return multiple(*self.tablets)

    # On the boats

    @rule(name=names, by=people, deeds=several_deeds)
    def somebody_records(self, name: str, by: str, deeds: list[Deed]) -> None:
        """Anything that a crew does."""
        self._record(name, by, deeds)

    @rule(name=names, other=names, place=places, seen=st.permutations(STATUSES), told=st.booleans())
    def two_crews_differ(self, name: str, other: str, place: str, seen: list[str], told: bool) -> None:
        """About one coral, neither knowing of the other unless they share a tablet; the office is `told` at once."""
        self._record(name, "ana", [("mark", place, place, seen[0])])
        self._record(other, "ben", [("mark", place, place, seen[1])])
        if told:
            self._sync_well(name)
            self._sync_well(other)

    @rule(name=names, year=st.sampled_from(WRONG_CLOCKS))
    def a_tablet_is_started_again(self, name: str, year: datetime) -> None:
        """What it knew by heart is gone, and its clock says anything."""
        tablet = self.tablets[name]
        tablet.store.close()
        tablet.store = Store(tablet.store.path)
        tablet.clock.now = year

    @rule(name=names, target=names, deeds=several_deeds, others=several_deeds)
    def a_tablet_is_copied(self, name: str, deeds: list[Deed], others: list[Deed]) -> str:
        """And both go on, with one name; or three, or more."""
        tablet = self.tablets[name]
        copy = f"copy{len(self.tablets)}"
        tablet.store.database.rows("PRAGMA wal_checkpoint(TRUNCATE)")
        shutil.copy(tablet.store.path, self.folder / f"{copy}.sqlite")
        self.tablets[copy] = Tablet(Store(self.folder / f"{copy}.sqlite"), Ticking(tablet.clock.now), tablet.packed, tablet.fresh)
        self._record(name, "ana", deeds)
        self._record(copy, "ben", others)
        return copy

    # At the office

    @rule(pick=st.integers(0, 20), told=names)
    def the_office_rules(self, pick: int, told: str) -> None:
        """On one of the questions that are open; where there are none it makes a note. One tablet hears of it."""
        open_now = list_questions(self.office.record, SURVEY)
        if open_now:
            key = open_now[pick % len(open_now)]
            question = read_question(self.office.record, SURVEY, key.subject, key.fact)
            give_ruling(self.office.record, "sue", question, question.values[pick % len(question.values)], question.shown, None)
        else:
            self.office.make_a_note()
        self._sync_well(told)

    @rule(name=names)
    def a_tablet_is_enrolled_again(self, name: str) -> None:
        """With what it has not sent yet."""
        self._enrol(name)

    @rule(by_hand=st.booleans())
    def the_office_makes_a_backup(self, by_hand: bool) -> None:
        """Of the server."""
        self.backups.append((self.office.back_up(by_hand=by_hand), self.office.record.heads()))

    @rule(pick=st.integers(0, 9), told=names, hasty=st.booleans())
    def the_server_is_put_back(self, pick: int, told: str, hasty: bool) -> None:
        """To any of the backups, when a tablet knows what the office wrote since. A `hasty` office writes on at once.

        Not where that loses an entry of a name that another copy goes by which does not hold it (docs/sync-protocol.md,
        What no copy can heal): the copy would use the number again, and nobody who holds the lost entry would notice.
        """
        self.office.make_a_note()
        self._sync_well(told)
        backup, heads = self.backups[pick % len(self.backups)]
        if self._would_be_used_again(heads):
            return
        self.office.put_back(backup)
        self.weather.late.clear()
        for tablet in self.tablets.values():
            tablet.fresh = False
        if hasty:
            self.office.make_a_note()

    # In between

    @rule(
        name=names,
        mishaps=st.lists(st.sampled_from(MISHAPS), max_size=6),
        share=st.sampled_from((0.0, 0.3, 0.7, 0.98)),
        batch=st.sampled_from((1, 2, 5_000)),
        late=st.booleans(),
    )
    def a_tablet_syncs(self, name: str, mishaps: list[Mishap], share: float, batch: int, late: bool) -> None:
        """In any weather. If it says that it is in step, it is. What was `late` before may arrive afterwards."""
        self.weather.mishaps, self.weather.share = list(mishaps), share
        outcome = self._sync(name, batch)
        self.weather.mishaps = []
        assert outcome.state in ("in_step", "unreachable") or "shortened" in mishaps, outcome
        if late:
            self.weather.deliver_late()

    @rule()
    def all_sync_on_a_clear_day(self) -> None:
        """One after the other: what the last ones bring, the first ones get another time."""
        for name in self.tablets:
            self._sync_well(name)

    # In the end

    def teardown(self) -> None:
        """All come home on a clear day."""
        try:
            if sys.exc_info()[0] is None and self.tablets:
                self.weather.deliver_late()
                self._come_home()
                self._compare()
        finally:
            for tablet in self.tablets.values():
                tablet.store.close()
            self.open.close()

    def _come_home(self) -> None:
        behind, rounds = True, 0
        while behind:
            rounds += 1
            assert rounds <= 4, "it takes too many rounds until nothing is left"
            for name in self.tablets:
                self._sync_well(name)
            behind = any(tablet.store.heads() != self.office.record.heads() for tablet in self.tablets.values())

    def _compare(self) -> None:
        lines, record = sorted(self.office.lines()), self.office.record
        folded = Record()
        folded.add(map(read_entry, lines))
        assert folded.heads() == record.heads()
        assert len(lines) == sum(record.heads().values())
        check = check_record(record)
        assert (check.wrong, check.remarks, check.entries) == ((), (), len(lines))
        self.ledger.check(lines)
        for name, tablet in self.tablets.items():
            held = list(tablet.store.every_line())
            self.ledger.check(held)
            assert held == lines or (tablet.packed and set(held) < set(lines)), name
            assert tablet.store.heads() == record.heads()
            assert not any(aside for aside in tablet.store.set_aside())
            for group, finding in folded.findings.items():
                # Before its survey a packed tablet knows only what its pack told of.
                if group[0] == SURVEY or not tablet.packed:
                    assert _plain(tablet.store.finding(*group)) == _plain(record.finding(*group)) == _plain(finding)

    # Inside

    def _would_be_used_again(self, kept: Heads) -> bool:
        """Whether a number that the server gives up is free, or another entry's, on a tablet that writes under its name."""
        lost = [(EntryId(*entry_id_of(line)), line) for line in self.office.record.lines_after(kept, 1_000_000, 1 << 40)[0]]
        return any(
            entry_id.writer in tablet.names and tablet.store.line(entry_id) != line
            for tablet in self.tablets.values()
            for entry_id, line in lost
        )

    def _record(self, name: str, by: str, deeds: list[Deed]) -> None:
        tablet = self.tablets[name]
        for deed, place, other, status in deeds:
            recorder = Recorder(tablet.store, SURVEY, by, tablet.clock, self.ledger.next_deed())
            try:
                done = DEEDS[deed](recorder, place, other, status)
            except NothingSuch:
                continue  # nothing hangs there, or two do: the crew is asked
            if done is not None:
                self.ledger.note(tablet.store, done)

    def _sync_well(self, name: str) -> None:
        outcome = self._sync(name, 5_000)
        assert (outcome.state, outcome.waiting) == ("in_step", 0), outcome

    def _enrol(self, name: str) -> None:
        self.weather.mishaps = []
        tablet = self.tablets[name]
        Sync(tablet.store, self.client, tablet.clock, never).enrol(self.start.url, self.office.code(), name)

    def _sync(self, name: str, batch: int) -> Outcome:
        tablet = self.tablets[name]
        sync = Sync(tablet.store, self.client, tablet.clock, never, jitter=lambda wait: wait, tries=2)
        sync._outbox.batch = batch
        outcome = sync.run()
        if outcome.state == "not_allowed" and not tablet.fresh:
            # It was enrolled after the backup that the server was put back to.
            self._enrol(name)
            outcome = sync.run()
        if outcome.state == "in_step":
            tablet.fresh = True
            held, there = set(tablet.store.every_line()), set(self.office.lines())
            assert held <= there
            assert there <= held or tablet.packed
            assert tablet.store.heads() == self.office.record.heads()
        return outcome


def _plain(finding: Finding | None) -> str:
    return json.dumps([finding, finding.slots if finding else None], sort_keys=True)


@pytest.fixture(scope="module")
def start() -> Iterator[Beginning]:
    """One server for all histories: each begins with a nursery of its own."""
    with beginning() as start:
        yield start


def test_whatever_happens_nothing_is_lost_and_all_end_in_step(start: Beginning) -> None:
    """Every deed that a tablet acknowledged is everywhere once, and tablets and server show the same."""
    few = settings(max_examples=max(12, settings().max_examples // 6), stateful_step_count=30)
    run_state_machine_as_test(lambda: TabletsAndServer(start), settings=few)  # type: ignore[arg-type]  # takes any callable
