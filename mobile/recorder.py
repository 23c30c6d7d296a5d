"""What a crew does becomes entries: each method is one transaction, on disk before it returns, and can be undone as one."""

from collections.abc import Callable, Collection, Iterable, Sequence
from datetime import datetime
from pathlib import Path
from typing import Any

from pydantic import JsonValue

from mobile.chart import redraw
from mobile.doubts import Doubts
from mobile.pen import Action, Draft, Pen
from mobile.row import read_line
from mobile.signing import review_page, took, unlikely_page
from mobile.store import Store
from mobile.unseen import UnseenPlaces, own_words
from mobile.whereabouts import Whereabouts
from shared_schema.entries import (
    ConditionSeen,
    DiveLogged,
    EntryWithdrawn,
    FragmentHarvested,
    FragmentMoved,
    FragmentOutplanted,
    FragmentPlanted,
    NoteMade,
    PageNotReached,
    PageSignedOff,
    PhotoTaken,
    SizeMeasured,
    TagChecked,
    UpkeepDone,
)
from shared_schema.errors import NothingSuch, StorageError
from shared_schema.facts import LIVING
from shared_schema.ids import parse_address, parse_entry_id

__all__ = ["Action", "Recorder"]


class Recorder:
    """Writes down what one person saw in one survey.

    `by` is who saw it, `typed_by` who types where that is somebody else; `visit` the dive that it was seen on. `where`
    is the address of a position, or the name of a fragment that this tablet knows (`fragment:<name>` for one that it does
    not); where two hang in one position, `fragment` says which.
    Methods raise SchemaError where what was seen makes no entry, NothingSuch where `where` is not clear, NotAllowed where
    the tablet is not enrolled, StorageError where the disk does not take it; then nothing at all is kept.
    """

    def __init__(
        self,
        store: Store,
        survey: str,
        by: str,
        clock: Callable[[], datetime],
        typed_by: str | None = None,
        visit: str | None = None,
    ) -> None:
        self.store, self.survey, self.by, self.typed_by, self.visit = store, survey, by, typed_by, visit
        self.clock = clock
        self._pen = Pen(store, survey, by, clock, typed_by)
        self._find = Whereabouts(store)
        self.unseen, self.doubts = UnseenPlaces(store.settings, survey), Doubts(store.settings, survey)

    def log_dive(self, people: Sequence[str] = (), visit: str | None = None, **dive: Any) -> Action:
        """A dive, or with `visit` a better word about one; what is recorded from now on was seen on it.

        `dive`: place, went_in, came_out, depth_cm, visibility_cm, water_temp_dc.
        """
        with self.store.database.writing():
            visit = visit or self._pen.fresh_name()
            done = self._pen.write("dive", "", [Draft(DiveLogged, f"visit:{visit}", {"people": tuple(people), **dive})])
            self.store.settings.put(visit=visit)
        self.visit = visit
        return done

    def mark(self, where: str, *, fragment: str | None = None, **facts: Any) -> Action:
        """What was seen of a fragment: status, live_tissue, bleaching, predator, signs, overgrowth, breakage, tie.

        At an empty position it is said of the position.
        """
        with self.store.database.writing():
            return self._write("marked", where, self._seen(where, fragment, facts), **self._looked([where]))

    def mark_many(self, wheres: Iterable[str], **facts: Any) -> Action:
        """The same of several fragments, as one action."""
        several = tuple(wheres)
        if not several:
            return Action("marked", ())
        with self.store.database.writing():
            drafts = [self._seen(where, None, facts) for where in several]
            return self._write("marked", several[-1], *drafts, **self._looked(several))

    def mark_arm(self, arm: str, **facts: Any) -> Action:
        """The same of all on an arm, row or stretch: page and number, as `T07/3.2`. The lost are passed over.

        So are the dead, where `status` says living: nobody who marks a whole arm means them.
        """
        with self.store.database.writing():
            living = facts.get("status") in LIVING
            meant = [
                hung for hung in self._find.on_arm(arm) if hung.here and not (living and hung.standing.value("status") == "dead")
            ]
            drafts = [self._seen(hung.place or "", hung.fragment, facts) for hung in meant]
            return self._write("marked", arm, *drafts, **self._looked(hung.place or "" for hung in meant))

    def leave_unseen(self, wheres: Iterable[str], where: str | None = None) -> Action:
        """Nobody looked at these positions, `where` as they are called together: no entry says so until the page is signed.

        A status that the same person gave before is withdrawn, and so is their signature under it; what others saw stands.
        """
        several = tuple(wheres)
        with self.store.database.writing():
            own = own_words(self.store, self.survey, self.by, several)
            drafts = [Draft(EntryWithdrawn, entry.subject, {"target": entry.id}) for entry in own]
            return self._write("unseen", where or several[-1], *drafts, **self.unseen.with_more(several))

    def take_back(self, label: str, where: str, entry_id: str) -> Action:
        """Withdraw one entry of the same person's, as an action that can itself be undone."""
        line = self.store.line(parse_entry_id(entry_id))
        entry = None if line is None else read_line(line)
        if entry is None or entry.by != self.by:
            raise NothingSuch(f"there is no entry {entry_id} of {self.by}'s here to take back")
        with self.store.database.writing():
            return self._write(label, where, Draft(EntryWithdrawn, entry.subject, {"target": entry_id}))

    def measure(self, where: str, *, fragment: str | None = None, **sizes: int) -> Action:
        """A size in whole millimetres: length_mm, width_mm, height_mm, tle_mm."""
        with self.store.database.writing():
            return self._write("measured", where, Draft(SizeMeasured, self._fragment(where, fragment), dict(sizes)))

    def check_tag(self, where: str, tag_state: str, tag: str | None = None, *, fragment: str | None = None) -> Action:
        """A tag was readable, unreadable or missing; `tag` is what it says, or what was put on."""
        with self.store.database.writing():
            fields = {"tag_state": tag_state, "tag": tag}
            return self._write("tag checked", where, Draft(TagChecked, self._fragment(where, fragment), fields))

    def plant(self, place: str, mother: str | None = None, *, fragment: str | None = None, **fields: Any) -> Action:
        """A new fragment hangs at `place`; cut from `mother` (a position or fragment) it is of her genet.

        `fragment` is its name where it has one already. `fields`: genet, donor, accession, tag, length_mm.
        """
        with self.store.database.writing():
            return self._write("planted", place, self._planting(place, mother, fragment or self._pen.fresh_name(), fields))

    def replant(self, place: str, mother: str | None = None, *, fragment: str | None = None, **fields: Any) -> Action:
        """What hung at `place` (`fragment`, where there are two) goes out of the nursery, a new one takes its place."""
        with self.store.database.writing():
            gone = self._find.resolve(place, fragment)
            drafts = [] if gone is None else [Draft(FragmentMoved, f"fragment:{gone}", {"place": "removed"})]
            drafts.append(self._planting(place, mother, self._pen.fresh_name(len(drafts)), fields))
            return self._write("replanted", place, *drafts)

    def cut(self, place: str, mother: str, *, replant: bool = False, length_mm: int | None = None) -> Action:
        """A piece of `mother` (a position or fragment) hangs at `place`; the harvest is said of her, in the same action.

        With `replant`, what hung there goes out of the nursery.
        """
        with self.store.database.writing():
            drafts = [Draft(FragmentHarvested, self._fragment(mother, None), {"pieces": 1, "length_mm": length_mm})]
            gone = self._find.resolve(place) if replant else None
            drafts += [] if gone is None else [Draft(FragmentMoved, f"fragment:{gone}", {"place": "removed"})]
            drafts.append(self._planting(place, mother, self._pen.fresh_name(len(drafts)), {"length_mm": length_mm}))
            return self._write("planted", place, *drafts)

    def move(self, where: str, place: str, reason: str | None = None, *, fragment: str | None = None) -> Action:
        """A fragment hangs elsewhere now: at a position, or `ground`, `holding`, `removed`."""
        with self.store.database.writing():
            fields = {"place": place, "reason": reason}
            return self._write(
                "moved", place if "/" in place else where, Draft(FragmentMoved, self._fragment(where, fragment), fields)
            )

    def found_on_ground(self, fragment: str, **facts: Any) -> Action:
        """A fragment lies on the ground; `facts` say how it was found."""
        with self.store.database.writing():
            drafts = [Draft(FragmentMoved, f"fragment:{fragment}", {"place": "ground"})]
            if facts:
                drafts.append(Draft(ConditionSeen, f"fragment:{fragment}", dict(facts)))
            return self._write("found on the ground", fragment, *drafts)

    def harvest(self, where: str, pieces: int, length_mm: int | None = None, *, fragment: str | None = None) -> Action:
        """Pieces were cut from a mother; each that hangs again is planted on its own."""
        with self.store.database.writing():
            fields = {"pieces": pieces, "length_mm": length_mm}
            return self._write("harvested", where, Draft(FragmentHarvested, self._fragment(where, fragment), fields))

    def outplant(self, where: str, site: str, method: str | None = None, *, fragment: str | None = None) -> Action:
        """A fragment was fixed to the reef at a site."""
        with self.store.database.writing():
            fields = {"place": f"site:{site}", "method": method}
            return self._write("outplanted", where, Draft(FragmentOutplanted, self._fragment(where, fragment), fields))

    def upkeep(self, where: str, work: Sequence[str], minutes: int | None = None) -> Action:
        """Work on a structure, a page, a position or a fragment."""
        with self.store.database.writing():
            fields = {"work": tuple(work), "minutes": minutes}
            return self._write("upkeep", where, Draft(UpkeepDone, self._find.subject(where), fields))

    def note(self, where: str, text: str, about: str | None = None, *, fragment: str | None = None) -> Action:
        """Words about anything, or about a fragment at `where`; `about` is the id of the entry that they explain."""
        with self.store.database.writing():
            subject = f"fragment:{fragment}" if fragment else self._find.subject(where)
            return self._write("noted", where, Draft(NoteMade, subject, {"text": text, "about": about}))

    def photo(
        self, where: str, source: Path | bytes, caption: str | None = None, *, slate: bool = False, fragment: str | None = None
    ) -> Action:
        """A photo of anything, or of a fragment at `where`, from its file or its bytes; `slate`: it shows a slate."""
        content = source if isinstance(source, bytes) else _content_of(source)
        with self.store.database.writing():
            photo = self.store.photos.keep(content, self.clock())
            fields = {
                "sha256": photo.sha256,
                "size": photo.size,
                "media_type": photo.media_type,
                "caption": caption,
                "slate": slate,
            }
            subject = f"fragment:{fragment}" if fragment else self._find.subject(where)
            return self._write("photographed", where, Draft(PhotoTaken, subject, fields))

    def sign_off(self, page: str, unseen: Collection[str] = (), opened: datetime | None = None) -> Action:
        """Vouch for a page: each fragment that nobody marked gets a row of its own, then the page its counts.

        `unseen`: positions or fragments that were not looked at, besides those left unseen before; they get no row. See
        signing.PageReview. What is unlikely about the page, `opened` when it was, waits in `doubts` for a note.
        """
        with self.store.database.writing():
            chart = self.store.on_structure(parse_address(page).structure)
            review = review_page(chart, page, self.survey, self.unseen.on(page) | set(unseen))
            drafts = [
                self._seen(row.hung.place or "", row.hung.fragment, {"status": row.status, "basis": "signed_off"})
                for row in review.rows
            ]
            counts = {"alive": review.alive, "marked": review.marked, "unseen": len(review.unseen)}
            counts |= took(opened, self.clock())
            before = self.doubts.keep(page, self.doubts.on(page))
            done = self._write("signed off", page, *drafts, Draft(PageSignedOff, f"page:{page}", counts), **before)
            after = redraw(chart, {entry.subject: self.store.findings_of(entry.subject) for entry in done.entries})
            found = unlikely_page(after, page, self.survey, opened, done.entries[-1].entered)
            self.store.settings.put(**self.doubts.keep(page, found))
            return done

    def explain(self, page: str, text: str) -> Action:
        """Words about what is unlikely on a page that was signed off: they belong to the signature, and end the doubt."""
        with self.store.database.writing():
            signed = [
                one.id for one in self.store.logged(self.survey, f"page:{page}", "coverage") if isinstance(one, PageSignedOff)
            ]
            fields = {"text": text, "about": signed[-1] if signed else None}
            return self._write("noted", page, Draft(NoteMade, f"page:{page}", fields), **self.doubts.keep(page, ()))

    def not_reached(self, where: str, reason: str | None = None) -> Action:
        """Nobody looked at a page, or at a whole structure, on this dive."""
        with self.store.database.writing():
            return self._write("not reached", where, Draft(PageNotReached, self._find.subject(where), {"reason": reason}))

    def undo(self) -> Action | None:
        """Take the last action back, by withdrawing its entries; None where there is none to take back."""
        return self._pen.undo()

    # Inside

    def _write(self, label: str, where: str, *drafts: Draft, **settings: JsonValue) -> Action:
        with self.store.database.writing():
            if "/" in where:
                self.store.settings.put(touched=where)  # the next start shows the last place that was touched
            return self._pen.write(label, where, list(drafts), self.visit, **settings)

    def _looked(self, wheres: Iterable[str]) -> dict[str, JsonValue]:
        return self.unseen.without(where for where in wheres if "/" in where)

    def _seen(self, where: str, fragment: str | None, facts: dict[str, Any]) -> Draft:
        name = self._find.resolve(where, fragment)
        subject = f"position:{where}" if name is None else f"fragment:{name}"
        # Whoever misses a fragment at a position has not seen it there.
        seen_at = where if name and "/" in where and facts.get("status") != "lost" else None
        return Draft(ConditionSeen, subject, {"seen_at": seen_at, **facts})

    def _planting(self, place: str, mother: str | None, fragment: str, fields: dict[str, Any]) -> Draft:
        inherited: dict[str, Any] = {}
        if mother is not None:
            parent = self._find.name(mother)
            inherited = {"parent": parent, "genet": self.store.fragment(parent).standing.value("genet")}
        given = {name: value for name, value in fields.items() if value is not None}
        return Draft(FragmentPlanted, f"fragment:{fragment}", {"place": place, **inherited, **given})

    def _fragment(self, where: str, fragment: str | None) -> str:
        return f"fragment:{self._find.name(where, fragment)}"


def _content_of(path: Path) -> bytes:
    try:
        return path.read_bytes()
    except OSError as error:
        raise StorageError(f"{path} could not be read: {error}") from error
