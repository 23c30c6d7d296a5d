"""The screens of a dive and every sheet over them, filled as in use: to be measured, and to be looked at."""

from collections.abc import Iterator
from pathlib import Path
from typing import Final

from pydantic import JsonValue

from mobile.detail_topics import TOPICS
from mobile.screens.dive_troubles import dive_trouble_text
from mobile.words import Words
from shared_schema.errors import LimitExceeded, NothingSuch, SchemaError, StorageError
from shared_schema.unlikely import Unlikely
from tests.screens.before_dives import BARE, FOUND_BEFORE, two_who_differ
from tests.screens.dive_stage import DiveStage, dive_staged
from tests.screens.harness import TABLET, Glass, Stage

__all__ = ["dive_screens"]

_BEFORE: Final = FOUND_BEFORE | {"T07/1.1.1": "lost", "T07/1.1.2": "dead"}
"""Two more, on another page, that it would be unlikely to find alive."""


def dive_screens(
    folder: Path, glass: Glass = TABLET, words: Words | None = None, **preferences: JsonValue
) -> Iterator[tuple[str, Stage]]:
    """Every screen and every sheet, one after the other."""
    with dive_staged(folder / "none.sqlite", (), None, frozenset(), glass, words, None, "", **preferences) as at:
        yield "no_structures", at.stage
        at.dive.go_whole_summary()
        yield from _shown(at, "no_summary")
    structures = ("T07", "T08", "L1", "B1")
    bare = BARE | {"T08/3.1.1"}
    said = [entry for author in two_who_differ() for entry in author.written]
    with dive_staged(folder / "t.sqlite", structures, _BEFORE, bare, glass, words, said, "T07/3", **preferences) as at:
        yield from _page(at)
        yield from _details(at)
        yield from _deeds(at)
        yield from _ends(at)
        for structure in ("L1", "B1"):
            at.dive.open(structure)
            yield from _shown(at, structure)


def _shown(at: DiveStage, name: str, *taps: str) -> Iterator[tuple[str, Stage]]:
    for tap in taps:
        at.tap(tap)
        at.stage.frames(4)
    at.stage.frames(6)
    yield name, at.stage


def _page(at: DiveStage) -> Iterator[tuple[str, Stage]]:
    yield from _shown(at, "page", "3.1.1", "status:sick", "3.2.3", "status:could_not_tell", "3.2.4", "status:unseen")
    yield from _shown(at, "status_first", "way:status_first", "status:preyed_on", "3.1.3")
    at.tap("way:place_first", "3.1.1", "status:dead")


def _details(at: DiveStage) -> Iterator[tuple[str, Stage]]:
    yield from _shown(at, "details", "details", "option:60")
    for topic in TOPICS.values():
        if topic.sort in ("one", "many", "tag", "note", "size"):
            yield from _shown(at, f"details_{topic.key}", f"topic:{topic.key}")
            at.tap(*(f"option:{option.key}" for option in topic.options[:2] if topic.sort in ("one", "many", "tag")))
    yield from _shown(at, "size_pad", "topic:size", "option:tle_mm", "key:1", "key:2", "key:3", "key:4", "key:5")
    yield from _shown(at, "details_full", "key:done")
    yield from _shown(at, "write", "topic:note", "option:write")
    yield from _shown(at, "voices", "close", "topic:voices")
    at.dive.details.pictures = tuple
    yield from _shown(at, "no_photos", "close", "topic:photo")
    yield from _shown(at, "details_arm", "close", "back", "arm:3", "details")
    at.tap("back")


def _deeds(at: DiveStage) -> Iterator[tuple[str, Stage]]:
    at.dive.open("T07", "2")
    yield from _shown(at, "more_no_place", "more")
    yield from _shown(at, "more", "back", "page:3", "3.1.1", "more")
    yield from _shown(at, "move", "offer:move")
    yield from _shown(at, "carry", "pick:tap")
    yield from _shown(at, "carry_taken", "3.1.2")
    yield from _shown(at, "which", "3.1.2", "3.1.2", "status:sick")
    yield from _shown(at, "plant", "close", "3.1.1", "more", "offer:plant")
    yield from _shown(at, "mother", "pick:tap")
    yield from _shown(at, "cut", "put_down", "3.1.3", "more", "offer:cut")
    yield from _shown(at, "outplant", "put_down", "3.1.3", "more", "offer:outplant")
    yield from _shown(at, "found", "close", "offer:found")
    yield from _shown(at, "found_how", "pick:F-T07-3.4.4")
    yield from _shown(at, "found_where", "status:alive")
    yield from _shown(at, "upkeep", "close", "offer:upkeep", "option:cleaned")
    yield from _shown(at, "not_reached", "close", "offer:not_reached")
    yield from _shown(at, "read_back", "close", "offer:read_back")
    yield from _shown(at, "read_back_last", "next", "next", "next")
    at.tap("back")


def _ends(at: DiveStage) -> Iterator[tuple[str, Stage]]:
    at.dive.open("T07", "1")
    at.stage.frames(6)
    yield from _shown(at, "doubts", "1.1.1", "status:alive", "1.1.2", "status:alive", "sign_off")
    yield from _shown(at, "page_after_signing", "close")
    keep = at.desk.recorder.doubts.keep
    at.store.settings.put(**keep("T07/4", (Unlikely("none_marked", "", "T07/4"),)))
    at.store.settings.put(**keep("T07/5", (Unlikely("signed_in_seconds", "", "T07/5"),)))
    at.desk.not_reached("T07/5", "")
    yield from _shown(at, "summary", "more", "offer:summary")
    at.dive.go_whole_summary()
    yield from _shown(at, "whole_summary")
    at.dive.go_structures()
    yield from _shown(at, "structures")
    for error in (NothingSuch(), LimitExceeded(), SchemaError(), StorageError()):
        at.dive.say(dive_trouble_text(error), "stop")
        yield from _shown(at, type(error).__name__)
        at.tap("dismiss")
