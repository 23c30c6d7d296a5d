"""Rules across slots: what no single slot can tell. They are found and shown; they never stop a sync.

Each function takes what it needs as plain values, so that a server can hand in just the rows in question.
"""

from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping, Set
from dataclasses import dataclass
from typing import Final, Literal, TypeAlias

from shared_schema.designs import Design
from shared_schema.errors import CrosstreeError, NothingSuch
from shared_schema.facts import GONE, LIVING
from shared_schema.fold import Finding, Record, Standing
from shared_schema.ids import parse_address, parse_tag, split_subject, structure_of_place
from shared_schema.sayings import Saying, mark, say

__all__ = [
    "SORTS",
    "Discrepancy",
    "Hanging",
    "Sort",
    "find_discrepancies",
    "hanging",
    "of_fragment",
    "of_places",
    "of_tags",
    "registered",
    "rose_again",
]

Sort: TypeAlias = Literal[
    "two_in_one_place",
    "one_in_two_places",
    "dead_then_alive",
    "unknown_genet",
    "unknown_parent",
    "own_ancestor",
    "unknown_position",
    "never_planted",
    "tag_twice",
]

SORTS: Final[Mapping[Sort, str]] = {
    "two_in_one_place": mark("two fragments hang in one position"),
    "one_in_two_places": mark("one fragment is said to be in two places"),
    "dead_then_alive": mark("a fragment found dead in place was found alive later"),
    "unknown_genet": mark("a fragment is of a genet that is not in the record"),
    "unknown_parent": mark("a fragment was cut from one that is not in the record"),
    "own_ancestor": mark("a fragment descends from itself"),
    "unknown_position": mark("a fragment hangs where its structure has no position"),
    "never_planted": mark("something was seen of a fragment that nobody planted"),
    "tag_twice": mark("two fragments in the water carry one tag"),
}


@dataclass(frozen=True, slots=True, order=True)
class Discrepancy:
    """Something that does not add up: which rule, about which subjects, in words; `survey` where it belongs to one."""

    sort: Sort
    subjects: tuple[str, ...]
    said: Saying
    survey: str = ""

    @property
    def detail(self) -> str:
        """It in English words; pages say it in the reader's language."""
        return str(self.said)


@dataclass(frozen=True, slots=True)
class Hanging:
    """A fragment as the rules see it. `here`: it has not left the nursery and was not lost when last looked for."""

    fragment: str
    place: str | None
    status: str | None
    tag: str | None
    here: bool


def hanging(standing: Standing) -> Hanging:
    """What the rules need of a fragment's standing."""
    place, status, tag = standing.value("place"), standing.value("status"), standing.value("tag")
    planted_since = standing.facts.get("place")
    looked = standing.facts.get("status")
    lost = status in GONE and looked is not None and (planted_since is None or looked.survey >= planted_since.survey)
    here = place is not None and structure_of_place(place) is not None and not lost
    return Hanging(split_subject(standing.subject)[1], place, status, tag, here)


def registered(standing: Standing) -> bool:
    """Whether a subject is a genet that somebody registered and did not take back: a note on a name registers nothing."""
    return split_subject(standing.subject)[0] == "genet" and standing.value("name") is not None


def of_places(fragments: Iterable[Hanging]) -> Iterator[Discrepancy]:
    """Two in one place."""
    by_place: defaultdict[str, list[str]] = defaultdict(list)
    for fragment in fragments:
        if fragment.here and fragment.place is not None:
            by_place[fragment.place].append(fragment.fragment)
    for place, names in sorted(by_place.items()):
        if len(names) > 1:
            subjects = tuple(f"fragment:{name}" for name in sorted(names))
            yield Discrepancy(
                "two_in_one_place", subjects, say("%(names)s both hang at %(place)s", names=tuple(sorted(names)), place=place)
            )


def of_tags(fragments: Iterable[Hanging]) -> Iterator[Discrepancy]:
    """One tag on two fragments that are both in the water."""
    by_tag: defaultdict[str, list[str]] = defaultdict(list)
    for fragment in fragments:
        if fragment.here and fragment.tag is not None:
            by_tag[_tag_key(fragment.tag)].append(fragment.fragment)
    for tag, names in sorted(by_tag.items()):
        if len(names) > 1:
            subjects = tuple(f"fragment:{name}" for name in sorted(names))
            yield Discrepancy("tag_twice", subjects, say("%(names)s both carry tag %(tag)s", names=tuple(sorted(names)), tag=tag))


def _tag_key(tag: str) -> str:
    try:
        return parse_tag(tag)
    except CrosstreeError:
        return tag.strip()


def of_fragment(
    standing: Standing, designs: Mapping[str, Design], parents: Mapping[str, str | None], genets: Set[str]
) -> Iterator[Discrepancy]:
    """What does not add up about one fragment: its places, its position, its descent.

    `designs` by structure; `parents` fragment -> parent for every fragment of the record; `genets` the registered ones.
    """
    name = split_subject(standing.subject)[1]
    place, seen = standing.facts.get("place"), standing.facts.get("seen_at")
    if place is None:
        if not standing.facts:
            return  # what was said was taken back, or is no more than a note
        yield Discrepancy(
            "never_planted", (standing.subject,), say("%(name)s was seen, and no entry says where it came from", name=name)
        )
    elif place.open:
        yield Discrepancy(
            "one_in_two_places", (standing.subject,), say("%(name)s is said to be in more than one place", name=name), place.survey
        )
    elif seen is not None and seen.survey > place.survey and seen.value != place.value and structure_of_place(place.value):
        said = say("%(name)s hangs at %(place)s and was seen at %(seen)s", name=name, place=place.value, seen=seen.value)
        yield Discrepancy("one_in_two_places", (standing.subject,), said, seen.survey)
    if place is not None and structure_of_place(place.value) is not None:
        yield from _of_position(standing.subject, place.value, designs)
    genet = standing.value("genet")
    if genet is not None and genet not in genets:
        yield Discrepancy(
            "unknown_genet",
            (standing.subject,),
            say("%(name)s is of genet %(genet)s, which nobody registered", name=name, genet=genet),
        )
    yield from _of_descent(standing.subject, name, parents)


def _of_position(subject: str, place: str, designs: Mapping[str, Design]) -> Iterator[Discrepancy]:
    address = parse_address(place)
    design = designs.get(address.structure)
    if design is None:
        yield Discrepancy(
            "unknown_position",
            (subject,),
            say("%(place)s: there is no structure %(structure)s", place=place, structure=address.structure),
        )
    elif not _has(design, address.path):
        said = say(
            "%(place)s: structure %(structure)s has no position %(path)s",
            place=place,
            structure=address.structure,
            path=address.path,
        )
        yield Discrepancy("unknown_position", (subject,), said)


def _has(design: Design, path: str) -> bool:
    try:
        design.position(path)
    except NothingSuch:
        return False
    return True


def _of_descent(subject: str, name: str, parents: Mapping[str, str | None]) -> Iterator[Discrepancy]:
    parent = parents.get(name)
    if parent is None:
        return
    if parent not in parents:
        yield Discrepancy(
            "unknown_parent",
            (subject,),
            say("%(name)s was cut from %(parent)s, which is not in the record", name=name, parent=parent),
        )
    met = {name}
    while parent is not None and parent not in met:
        met.add(parent)
        parent = parents.get(parent)
    if parent == name:
        yield Discrepancy(
            "own_ancestor",
            (subject,),
            say("%(name)s descends from itself, by way of %(count)s fragments", name=name, count=len(met)),
        )


def rose_again(findings: Iterable[Finding]) -> Iterator[Discrepancy]:
    """Dead in place in one survey, alive in a later one. `findings` of one fragment, in any order."""
    died: Finding | None = None
    for finding in sorted(findings, key=lambda one: one.survey):
        status = finding.value("status")
        if status == "dead":
            died = finding
        elif status in LIVING and died is not None:
            name = split_subject(finding.subject)[1]
            values = {"name": name, "before": died.survey or "the first record", "status": status, "survey": finding.survey}
            said = say("%(name)s was dead in %(before)s and %(status)s in %(survey)s", **values)
            yield Discrepancy("dead_then_alive", (finding.subject,), said, finding.survey)
            died = None


def find_discrepancies(record: Record, designs: Mapping[str, Design]) -> list[Discrepancy]:
    """All that does not add up in a record, in a fixed order."""
    fragments = [one for subject, one in sorted(record.standings.items()) if split_subject(subject)[0] == "fragment"]
    parents = {split_subject(one.subject)[1]: one.value("parent") for one in fragments if one.value("place") is not None}
    genets = {split_subject(subject)[1] for subject, one in record.standings.items() if registered(one)}
    found: list[Discrepancy] = [*of_places(map(hanging, fragments)), *of_tags(map(hanging, fragments))]
    for standing in fragments:
        found += of_fragment(standing, designs, parents, genets)
        found += rose_again(record.of_subject(standing.subject))
    return sorted(found)
