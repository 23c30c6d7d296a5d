"""What else was seen of the places that are selected: each thing said of them becomes an entry at once."""

from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from mobile.chart import Hung
from mobile.detail_topics import TOPICS, Option, Topic
from mobile.dive_desk import DiveDesk
from mobile.voices import Voice, voices_at
from shared_schema.fold import Finding
from shared_schema.ready_words import NOTES

__all__ = ["DetailDesk", "TopicView"]


@dataclass(frozen=True, slots=True)
class TopicView:
    """A topic as it is now: `values` are (fact, value) of what was said; `chosen` the keys of its options that hold."""

    topic: Topic
    values: tuple[tuple[str, Any], ...]
    chosen: frozenset[str]


class DetailDesk:
    """Speaks of what is selected on a dive's page. `fragment` says which is meant, where two hang in one place.

    Methods raise what Recorder's do; then nothing is kept.
    """

    def __init__(self, desk: DiveDesk, fragment: str = "") -> None:
        self.desk, self.places = desk, desk.selection
        self._fragment = fragment

    @property
    def hung(self) -> Hung | None:
        """The fragment that is spoken of, None for an empty position or for several."""
        if len(self.places) != 1:
            return None
        several = self.desk.open.chart.at(self.places[0])
        meant = [one for one in several if one.fragment == self._fragment] or [one for one in several if one.here] or [*several]
        return meant[0] if meant else None

    @property
    def topics(self) -> tuple[TopicView, ...]:
        """All topics that fit what is selected: several corals have no common size, an empty place has no tag."""
        alone, empty = len(self.places) == 1, self.hung is None
        kept = [
            topic
            for topic in TOPICS.values()
            if topic.sort in ("one", "many") or (alone and (topic.sort not in ("size", "tag") or not empty))
        ]
        return tuple(self.look(topic.key) for topic in kept)

    @property
    def voices(self) -> tuple[Voice, ...]:
        """Who said what of the place."""
        return voices_at(self.desk.store, self.desk.open.chart, self.places[0], self.desk.survey) if self.places else ()

    def look(self, key: str) -> TopicView:
        """One topic as it is now."""
        topic = TOPICS[key]
        facts = {"size": [option.key for option in topic.options], "tag": ["tag_state", "tag"]}.get(topic.sort, [key])
        values = tuple((fact, value) for fact in facts if (value := self._value(fact)) is not None)
        return TopicView(topic, values, frozenset(self._chosen(topic)))

    def options(self, key: str) -> tuple[Option, ...]:
        """What a topic lets choose; notes that are ready have their own text as key."""
        topic = TOPICS[key]
        return topic.options if topic.sort != "note" else tuple(Option(text, text, text) for text in NOTES)

    def choose(self, key: str, option: Option) -> None:
        """An option was tapped: it holds from now on, or with several allowed, it does not any more."""
        topic = TOPICS[key]
        value = option.value
        if topic.sort == "note":
            self.note(option.key)
        elif topic.sort == "tag":
            self._tag(str(value), None)
        elif topic.sort == "many":
            known = self._value(key) or ()
            self.state(key, [one for one in known if one != value] if value in known else [*known, value])
        else:
            self.state(key, value)

    def state(self, fact: str, value: Any) -> None:
        """A fact has this value at all places that are selected."""
        places, fragment = self.places, self._named()
        if len(places) == 1:
            self.desk.record(lambda recorder: recorder.mark(places[0], fragment=fragment, **{fact: value}))
        else:
            self.desk.record(lambda recorder: recorder.mark_many(places, **{fact: value}))

    def measure(self, size: str, digits: str) -> None:
        """A size in mm as it was typed; nothing typed is nothing measured."""
        if digits:
            where, fragment = self.places[0], self._named()
            self.desk.record(lambda recorder: recorder.measure(where, fragment=fragment, **{size: int(digits)}))

    def new_tag(self, tag: str) -> None:
        """A tag that can be read was put on, or is there."""
        if tag.strip():
            self._tag("readable", tag.strip())

    def note(self, text: str) -> None:
        """Words about it."""
        if text.strip():
            where, fragment = self.places[0], self._named()
            self.desk.record(lambda recorder: recorder.note(where, text.strip(), fragment=fragment))

    def photo(self, path: Path) -> None:
        """A picture of it."""
        where, fragment = self.places[0], self._named()
        self.desk.record(lambda recorder: recorder.photo(where, path, fragment=fragment))

    def _tag(self, state: str, tag: str | None) -> None:
        where, fragment = self.places[0], self._named()
        self.desk.record(lambda recorder: recorder.check_tag(where, state, tag, fragment=fragment))

    def _named(self) -> str | None:
        hung = self.hung
        return None if hung is None else hung.fragment

    def _findings(self) -> Iterator[Finding | None]:
        survey, chart = self.desk.survey, self.desk.open.chart
        if self.hung is not None:
            yield self.hung.finding(survey)
            return
        for place in self.places:
            several = chart.at(place)
            yield from (hung.finding(survey) for hung in several)
            if not several:
                yield chart.finding(f"position:{place}", survey)

    def _value(self, fact: str) -> Any:
        """What this survey says, where it says the same of all that is selected."""
        found = [None if finding is None else finding.value(fact) for finding in self._findings()]
        return found[0] if found and all(value == found[0] for value in found) else None

    def _chosen(self, topic: Topic) -> Iterator[str]:
        known = self._value("tag_state" if topic.sort == "tag" else topic.key) if topic.sort in ("one", "many", "tag") else None
        for option in topic.options:
            if option.value is not None and (option.value in known if isinstance(known, tuple | list) else option.value == known):
                yield option.key
