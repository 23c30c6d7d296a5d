"""Two years of the invented nursery, as the lines that its tablets sent and its office kept."""

from calendar import month_name
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime
from random import Random

from server.demo.calendar import LAST, MONTHS, NEWEST, Month, days_of
from server.demo.cast import SUPERVISOR
from server.demo.dives import survey_all
from server.demo.nursery import Nursery, Said
from server.demo.pen import ZONE
from server.demo.stock import found, hang_structures, plant_out, restock
from server.demo.storm import clear_up
from shared_schema.entries import RulingGiven, SurveyPlanned

__all__ = ["Batch", "History", "live_two_years"]

_LEFT_OPEN = 2
"""So many questions of the last survey wait for the supervisor."""


@dataclass(frozen=True, slots=True)
class Batch:
    """What one writer brought at one time: milliseconds since 1970 UTC."""

    writer: str
    received_ms: int
    lines: tuple[bytes, ...]


@dataclass(frozen=True, slots=True)
class History:
    """All batches in the order of their arrival, and the nursery as it really is in the newest month."""

    batches: tuple[Batch, ...]
    nursery: Nursery


def live_two_years(seed: int) -> History:
    """Simulate; the same seed gives the same bytes, on any machine."""
    nursery = Nursery(Random(seed))  # noqa: S311  # a play, no secret
    batches: list[Batch] = []
    found(nursery)
    batches += _sent(nursery, "2024-11-12")
    for turn, month in enumerate(MONTHS):
        nursery.pass_month(month)
        if month.survey == "2025-04":
            hang_structures(nursery, ["T09", "T10", "T11", "T12"], "2025-04-02")
        _plan(nursery, month.survey)
        survey_all(nursery, month, turn)
        if month.storm:
            clear_up(nursery, month)
        if month.restock:
            restock(nursery, month)
        if month.outplant:
            plant_out(nursery, month)
        _rule(nursery, month)
        batches += _sent(nursery, f"{month.survey}-20")
    nursery.pass_month(NEWEST)
    _plan(nursery, NEWEST.survey)
    batches += _sent(nursery, f"{NEWEST.survey}-02")
    return History(tuple(batches), nursery)


def _plan(nursery: Nursery, survey: str) -> None:
    opens, closes = days_of(survey)
    nursery.office.at(f"{survey}-01", 15 * 60)
    name = f"{month_name[int(survey[5:7])]} {survey[:4]}"
    nursery.office.write(
        SurveyPlanned, f"survey:{survey}", "", SUPERVISOR, name=name, opens=opens, closes=closes, structures=nursery.hung
    )


def _rule(nursery: Nursery, month: Month) -> None:
    """The supervisor settles what two divers saw differently: after another look, mostly as it is."""
    nursery.office.at(f"{month.survey}-19", 16 * 60)
    open_questions = [(name, said) for name, said in nursery.said.items() if len({one.status for one in said}) > 1]
    if month.survey == LAST:
        open_questions = open_questions[_LEFT_OPEN:]
    for name, said in open_questions:
        nursery.office.write(
            RulingGiven,
            f"fragment:{name}",
            month.survey,
            SUPERVISOR,
            replaces=sorted(one.entry for one in said),
            fact="status",
            value=_settled(nursery, name, said),
            reason="looked at again on the next dive",
        )


def _settled(nursery: Nursery, name: str, said: list[Said]) -> str:
    values = [one.status for one in said]
    true = nursery.corals[name].status
    return true if true in values else values[0]


def _sent(nursery: Nursery, day: str) -> Iterator[Batch]:
    received = int(datetime.fromisoformat(f"{day}T19:00:00{ZONE}").timestamp() * 1000)
    for turn, pen in enumerate(nursery.pens.values()):
        if pen.lines:
            yield Batch(pen.writer, received + turn * 60_000, tuple(pen.lines))
            pen.lines.clear()
