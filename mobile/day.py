"""Today on the boat: which survey, who is aboard, who saw and who types, on which dive. All of it outlives a restart."""

import re
import unicodedata
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from datetime import datetime
from typing import Final

from mobile.catalogue import Person
from mobile.packs import Packs
from mobile.recorder import Recorder
from mobile.store import Store
from shared_schema.author import Author
from shared_schema.entries import PersonListed
from shared_schema.errors import NothingSuch, SchemaError

__all__ = ["Day", "Today"]

_LONGEST_NAME: Final = 40


@dataclass(frozen=True, slots=True)
class Today:
    """How things are. `saw` and `types` are people aboard, None while nobody was named.

    `structures` are those that were loaded for `survey`; `visit` is the dive that is being entered.
    """

    nursery: str
    survey: str
    survey_name: str
    structures: tuple[str, ...]
    aboard: tuple[Person, ...]
    saw: Person | None
    types: Person | None
    visit: str | None

    @property
    def can_record(self) -> bool:
        """Whether an entry would say who saw, in which survey."""
        return bool(self.survey and self.saw)


class Day:
    """Asks and changes what today is. Every change is on disk when the method returns."""

    def __init__(self, store: Store, clock: Callable[[], datetime]) -> None:
        self.store, self.clock = store, clock

    @property
    def enrolled(self) -> bool:
        """Whether the tablet has an identity, and so may record."""
        return self.store.identities.current is not None

    @property
    def survey(self) -> str:
        """The survey in force, empty before one was chosen."""
        return self._text("survey") or ""

    @property
    def structures(self) -> tuple[str, ...]:
        """What was loaded for the survey in force."""
        packs = [pack for pack in Packs(self.store).all if pack.survey == self.survey]
        return packs[-1].structures if packs else ()

    @property
    def people(self) -> tuple[Person, ...]:
        """Everybody who may be named: those first whom the plan of the survey names, each of the two by name."""
        expected = self.expected
        return tuple(sorted(self._listed, key=lambda person: (person.id not in expected, person.name.casefold())))

    @property
    def expected(self) -> frozenset[str]:
        """Ids of those who go, by the plan of the survey in force; empty where it does not say."""
        survey = self.survey
        return frozenset(self.store.standing(f"survey:{survey}").value("people") or ()) if survey else frozenset()

    @property
    def today(self) -> Today:
        """How things are now. Somebody aboard whom the list no longer has goes by their id."""
        current = self.store.identities.current
        known = {person.id: person for person in self._listed}
        aboard = tuple(known.get(name, Person(name, name, "crew")) for name in self._aboard)
        by_id = {person.id: person for person in aboard}
        survey = self.survey
        return Today(
            nursery="" if current is None else current.nursery_name,
            survey=survey,
            survey_name=str(self.store.standing(f"survey:{survey}").value("name") or survey) if survey else "",
            structures=self.structures,
            aboard=aboard,
            saw=by_id.get(self._text("saw") or ""),
            types=by_id.get(self._text("types") or ""),
            visit=self._text("visit"),
        )

    def choose_survey(self, survey: str) -> None:
        """Record in this survey from now on; a dive belongs to one survey, so that another one begins without."""
        if survey != self.survey:
            self.store.settings.put(survey=survey, visit=None)

    def board(self, people: Iterable[str]) -> None:
        """These are aboard, in this order. The first is taken to have seen and to type until somebody says otherwise."""
        aboard = tuple(dict.fromkeys(people))
        first = aboard[0] if aboard else None
        kept = {name: self._text(name) if self._text(name) in aboard else first for name in ("saw", "types")}
        self.store.settings.put(aboard=list(aboard), **kept)

    def toggle(self, person: str) -> None:
        """Somebody comes aboard, or goes ashore."""
        aboard = self._aboard
        self.board([name for name in aboard if name != person] if person in aboard else [*aboard, person])

    def saw(self, person: str) -> None:
        """What is recorded from now on, this person saw. Raises NothingSuch for one who is not aboard."""
        self.store.settings.put(saw=self._one_aboard(person))

    def types(self, person: str) -> None:
        """From now on this person types. Raises NothingSuch for one who is not aboard."""
        self.store.settings.put(types=self._one_aboard(person))

    def add_person(self, name: str) -> str:
        """List somebody whom the office did not, and take them aboard; gives their id.

        Raises SchemaError for a name without a letter, or too long; NotAllowed where the tablet is not enrolled.
        """
        plain = " ".join(name.split())
        if len(plain) > _LONGEST_NAME or not any(character.isalpha() for character in plain):
            raise SchemaError(f"{name!r} is no name: write one with letters, at most {_LONGEST_NAME} characters")
        known = {person.id: person for person in self._listed}
        same = next((one.id for one in known.values() if one.name.casefold() == plain.casefold()), None)
        person = same or _fresh_id(plain, set(known))
        with self.store.database.writing():
            if same is None:
                writer = self.store.identities.own.writer
                author = Author(writer, self.store.last(writer), person, self.clock)
                author.write(PersonListed, f"person:{person}", name=plain)
                self.store.write_own(author.written)
            if person not in self._aboard:
                self.board([*self._aboard, person])
        return person

    def new_dive(self) -> None:
        """What is recorded from now on belongs to no dive yet."""
        self.store.settings.put(visit=None)

    def recorder(self) -> Recorder:
        """Whoever saw, in the survey in force, on the dive that is being entered.

        Raises NothingSuch while nobody was named, or no survey chosen.
        """
        today = self.today
        if today.saw is None:
            raise NothingSuch("nobody is named as the one who saw: say who is aboard first")
        if not today.survey:
            raise NothingSuch("no survey is chosen: choose one first")
        types = today.types
        typed_by = types.id if types is not None and types.id != today.saw.id else None
        return Recorder(self.store, today.survey, today.saw.id, self.clock, typed_by, today.visit)

    @property
    def _listed(self) -> tuple[Person, ...]:
        return self.store.catalogue.people()

    @property
    def _aboard(self) -> list[str]:
        kept = self.store.settings.get("aboard")
        return [name for name in kept if isinstance(name, str)] if isinstance(kept, list) else []

    def _one_aboard(self, person: str) -> str:
        if person not in self._aboard:
            raise NothingSuch(f"{person!r} is not aboard today: take them aboard first")
        return person

    def _text(self, name: str) -> str | None:
        value = self.store.settings.get(name)
        return value if isinstance(value, str) else None


def _fresh_id(name: str, taken: set[str]) -> str:
    """An id that can be read: `Chloé Martin` -> `chloe-martin`, with a number where that is somebody else's."""
    letters = unicodedata.normalize("NFKD", name.casefold()).encode("ascii", "ignore").decode()
    base = re.sub(r"[^a-z0-9]+", "-", letters).strip("-") or "crew"
    numbered = (f"{base}-{number}" for number in range(2, len(taken) + 3))
    return next(each for each in (base, *numbered) if each not in taken)
