"""What can be said of a coral beyond its status: topics, each with its choices, in the words that the screen translates."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any, Final, Literal

__all__ = ["TOPICS", "VALUE_WORDS", "Option", "Topic"]


@dataclass(frozen=True, slots=True)
class Option:
    """A choice: its value, its key in the names of targets, and the word that its button says."""

    key: str
    value: Any
    word: str


@dataclass(frozen=True, slots=True)
class Topic:
    """One thing to say. `key` is the fact where it states one.

    `sort`: `one` of the options holds, or any number of them (`many`); a `size` is asked for in mm, a `tag` in letters, a
    `note` is tapped or typed; `photo` and `voices` open lists. `columns` is how many options stand side by side.
    """

    key: str
    word: str
    sort: Literal["one", "many", "size", "tag", "note", "photo", "voices"]
    options: tuple[Option, ...] = ()
    columns: int = 2
    caution: str = ""


def _(text: str) -> str:
    """Marks a text for the catalogues; it is translated where it is shown."""
    return text


def _options(*several: tuple[str, str]) -> tuple[Option, ...]:
    return tuple(Option(value, value, word) for value, word in several)


_ONE_OF: Final = {
    "bleaching": _options(("none", _("none")), ("pale", _("pale")), ("partial", _("partly bleached")), ("full", _("all bleached"))),
    "predator": _options(
        ("snail", _("snail")),
        ("fireworm", _("fireworm")),
        ("damselfish", _("damselfish")),
        ("butterflyfish", _("butterflyfish")),
        ("parrotfish", _("parrotfish")),
        ("other", _("another one")),
        ("not_seen", _("not seen")),
    ),
    "signs": _options(
        ("tissue_loss", _("tissue loss")),
        ("band", _("band")),
        ("spots", _("spots")),
        ("growth", _("growth")),
        ("colour", _("colour")),
        ("other", _("other signs")),
    ),
    "overgrowth": _options(
        ("fire_coral", _("fire coral")),
        ("algae", _("algae")),
        ("hydroid", _("hydroids")),
        ("tunicate", _("tunicates")),
        ("sponge", _("sponge")),
        ("barnacle", _("barnacles")),
        ("other", _("something else")),
    ),
    "breakage": _options(("none", _("none")), ("tips", _("tips")), ("branches", _("branches")), ("most", _("most of it"))),
    "tie": _options(("tight", _("tight")), ("loose", _("loose")), ("missing", _("missing"))),
    "tag_state": _options(("readable", _("readable")), ("unreadable", _("unreadable")), ("missing", _("missing"))),
}

_SIZES: Final = _options(
    ("length_mm", _("Length")), ("width_mm", _("Width")), ("height_mm", _("Height")), ("tle_mm", _("All branches"))
)

TOPICS: Final[Mapping[str, Topic]] = {
    topic.key: topic
    for topic in (
        Topic(
            "live_tissue",
            _("Live tissue"),
            "one",
            tuple(Option(str(share), share, f"{share} %") for share in range(0, 101, 5)),
            columns=6,
        ),
        Topic("bleaching", _("Bleaching"), "one", _ONE_OF["bleaching"]),
        Topic("predator", _("Predator"), "one", _ONE_OF["predator"]),
        Topic("signs", _("Signs"), "many", _ONE_OF["signs"], caution=_("Signs that were seen: no diagnosis.")),
        Topic("overgrowth", _("Overgrowth"), "many", _ONE_OF["overgrowth"]),
        Topic("breakage", _("Breakage"), "one", _ONE_OF["breakage"]),
        Topic("tie", _("Tie"), "one", _ONE_OF["tie"]),
        Topic("size", _("Size"), "size", _SIZES),
        Topic("tag", _("Tag"), "tag", (*_ONE_OF["tag_state"], Option("new", None, _("New tag")))),
        Topic("note", _("Note"), "note"),
        Topic("photo", _("Photo"), "photo"),
        Topic("voices", _("Who said what"), "voices"),
    )
}
"""By key, in the order in which they are shown."""

VALUE_WORDS: Final[Mapping[tuple[str, str], str]] = {
    (fact, option.key): option.word for fact, options in _ONE_OF.items() for option in options
}
"""(fact, value) -> its word in English, to be translated."""
