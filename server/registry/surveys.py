"""Planning a survey: which structures, in which days."""

from calendar import monthrange
from collections.abc import Sequence

from server.registry.cells import read_date, read_survey
from server.registry.known import read_known
from server.store.record import RecordStore
from shared_schema.entries import SurveyPlanned
from shared_schema.errors import BadId, NothingSuch

__all__ = ["plan_survey"]


def plan_survey(
    store: RecordStore,
    survey: str,
    structures: Sequence[str] = (),
    *,
    name: str = "",
    opens: str = "",
    closes: str = "",
    by: str = "office",
) -> SurveyPlanned:
    """Plan a survey of these structures, or of all there are; one that was planned before is planned anew.

    Unless given, it is called as its id, and lasts as its id says: that day, or that month. Raises SchemaError for a
    malformed id or day, NothingSuch for a structure that is not in the record, StorageError.
    """
    first, last = _span(read_survey(survey))
    opens, closes = read_date(opens) if opens else first, read_date(closes) if closes else last
    if closes < opens:
        raise BadId(f"survey {survey} would close on {closes}, before it opens on {opens}: exchange the two days")
    with store.office(by) as author:
        known = read_known(store, [f"survey:{survey}"])
        there = known.names.get("structure", frozenset())
        for structure in structures:
            if structure not in there:
                raise NothingSuch(f"there is no structure {structure!r}: load it first, or leave it out")
        stated = known.stated.get(f"survey:{survey}")
        heads = {head for slot in stated.slots.values() for head in slot.heads} if stated is not None else set()
        return author.write(
            SurveyPlanned,
            f"survey:{survey}",
            name=name or survey,
            opens=opens,
            closes=closes,
            structures=tuple(structures) or tuple(sorted(there)),
            replaces=tuple(sorted(heads)),
        )


def _span(survey: str) -> tuple[str, str]:
    """The first and last day that a survey's name says."""
    day = survey.rstrip("abcdefghijklmnopqrstuvwxyz")
    if len(day) == 10:
        return read_date(day), day
    year, month = day.split("-")
    return f"{day}-01", f"{day}-{monthrange(int(year), int(month))[1]:02}"
