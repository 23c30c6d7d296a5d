"""Who said what of a place: every word of this survey, and every one that is in dispute, with who and when."""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from mobile.chart import StructureChart
from mobile.store import Store
from shared_schema.entries import BaseEntry, EntryWithdrawn, RulingGiven
from shared_schema.facts import FACTS
from shared_schema.fold import Finding

__all__ = ["Voice", "disputed_places", "voices_at"]


@dataclass(frozen=True, slots=True)
class Voice:
    """One word: who said of a fact that it is so, and when. `open` says that others say otherwise and nobody has ruled.

    `ruling` says that it is the office's last word. `survey` is the one that it belongs to.
    """

    fact: str
    value: Any
    by: str
    when: datetime
    survey: str
    entry: str
    open: bool = False
    ruling: bool = False


def voices_at(store: Store, chart: StructureChart, place: str, survey: str) -> tuple[Voice, ...]:
    """What counts at a position: first what is in dispute, then this survey's words, the newest first."""
    findings: list[Finding] = [finding for hung in chart.at(place) for finding in hung.findings]
    findings += chart.about.get(f"position:{place}", ())
    found = [voice for finding in findings if finding.open or finding.survey == survey for voice in _voices(store, finding)]
    kept = [voice for voice in found if voice.open or (voice.survey == survey and voice.fact != "seen_at")]
    return tuple(sorted(kept, key=lambda voice: (not voice.open, voice.fact if voice.open else "", -voice.when.timestamp())))


def disputed_places(chart: StructureChart) -> tuple[str, ...]:
    """The positions at which records disagree as they stand now, in reading order."""
    hung = [place for place, several in chart.by_place.items() if any(_open(one.standing.facts.values()) for one in several)]
    own = [
        subject.partition(":")[2]
        for subject, findings in chart.about.items()
        if subject.startswith("position:") and any(finding.open for finding in findings)
    ]
    return tuple(dict.fromkeys([*hung, *own]))


def _open(facts: Iterable[Any]) -> bool:
    return any(fact.open for fact in facts)


def _voices(store: Store, finding: Finding) -> Iterator[Voice]:
    entries = store.entries_of(finding.survey, finding.subject)
    withdrawn = {entry.target for entry in entries if isinstance(entry, EntryWithdrawn)}
    for entry in entries:
        for fact, value in entry.facts() if entry.id not in withdrawn else ():
            slot = finding.slots.get(fact)
            if slot is not None and entry.id in (*slot.heads, *slot.disputed):
                yield _voice(entry, fact, value, disputed=entry.id in slot.disputed)


def _voice(entry: BaseEntry, fact: str, value: Any, *, disputed: bool) -> Voice:
    if FACTS[fact].mode == "log":
        value = value.get("text") or value.get("work") or value.get("caption") or ""
    ruling = isinstance(entry, RulingGiven)
    return Voice(fact, value, entry.by, entry.observed, entry.survey, entry.id, open=disputed, ruling=ruling)
