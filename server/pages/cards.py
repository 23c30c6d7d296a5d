"""A question as it is shown: with the drawings of where it is, the photos behind each word, and who else is at it."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace

from server.pages.addresses import card_name
from server.pages.beside import Told, claimed_by_others
from server.pages.door import Visitor
from server.pages.drawings import Ground, grounds_of
from server.review.albums import Photo
from server.review.answers import office_head
from server.review.claims import claims_in
from server.review.evidence import photos_behind
from server.review.maps import StructureMap, maps_in
from server.review.questions import Question
from server.review.roster import Roster, read_roster
from server.review.statements import Statement
from server.review.structures import structures_in
from server.store.engine import reading
from server.store.record import RecordStore
from shared_schema.ids import structure_of_place

__all__ = ["Card", "View", "cards_of"]


@dataclass(frozen=True, slots=True)
class View:
    """A page of a structure on which something is pointed out: path -> the numbers of the words that place it there."""

    ground: Ground
    map: StructureMap
    marks: Mapping[str, tuple[int, ...]]


@dataclass(frozen=True, slots=True)
class Card:
    """A question as shown.

    `photos` are those behind each word, by its entry's id; `claim` says who else is at the question, `office` how many
    entries the office had written. `answered`: an answer was just given, and the reader's place is here; `wrong` is why
    one was not taken, and `chosen` what it was. `met` is somebody else's ruling that the answer did not know of, and
    `taken` whether the answer was taken down all the same.
    """

    question: Question
    views: tuple[View, ...] = ()
    photos: Mapping[str, Sequence[Photo]] = field(default_factory=dict)
    claim: Told | None = None
    office: int = 0
    answered: bool = False
    wrong: str = ""
    chosen: Mapping[str, str] = field(default_factory=dict)
    met: Statement | None = None
    taken: bool = False

    @property
    def id(self) -> str:
        """Where it is on a page."""
        return card_name(self.question.key.subject, self.question.key.fact)


def cards_of(store: RecordStore, visitor: Visitor, questions: Sequence[Question], roster: Roster | None = None) -> list[Card]:
    """Questions of one survey as they are shown to somebody."""
    survey = questions[0].key.survey if questions else ""
    names = {name for question in questions for place in _places(question) if (name := structure_of_place(place))}
    photos = photos_behind(store, questions)
    known = roster or read_roster(store)
    with reading(store.engine) as connection:
        maps = maps_in(connection, store.nursery, survey, structures_in(connection, store.nursery, names))
        claims = claimed_by_others(claims_in(connection, store), visitor, survey, known)
        _, office = office_head(connection, store)
    cards = [Card(one, _views(one, maps), photos, None, office) for one in questions]
    return [replace(card, claim=claims.get(card.id)) for card in cards]


def _places(question: Question) -> dict[str, tuple[int, ...]]:
    """place -> the numbers of the words in dispute that place it there, counted from 1; where nobody does, where it is known."""
    found: dict[str, tuple[int, ...]] = {}
    for number, one in enumerate(question.disputed, 1):
        stated = one.value if question.key.fact in ("place", "seen_at") else one.beside.get("place") or one.beside.get("seen_at")
        place = stated or question.key.place
        if place and "/" in place:
            found[place] = (*found.get(place, ()), number)
    if not found and "/" in (question.key.place or ""):
        found[question.key.place or ""] = ()
    return found


def _views(question: Question, maps: Mapping[str, StructureMap]) -> tuple[View, ...]:
    marked: dict[tuple[str, str], dict[str, tuple[int, ...]]] = {}
    for place, numbers in _places(question).items():
        structure, _, path = place.partition("/")
        marked.setdefault((structure, path.partition(".")[0]), {})[path] = numbers
    views = []
    for (structure, page), marks in sorted(marked.items()):
        found = maps.get(structure)
        design = None if found is None else found.hung.design
        if found is not None and design is not None:
            grounds = (one for one in grounds_of(design, by_page=True) if one.pages[0].path == page)
            views += [View(ground, found, marks) for ground in grounds]
    return tuple(views)
