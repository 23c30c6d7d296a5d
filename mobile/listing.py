"""A structure as plain text: what hangs where, what the record says of it, and who disagrees with whom."""

from collections.abc import Iterator

from mobile.chart import Hung
from mobile.store import Store
from shared_schema.entries import PageNotReached, PageSignedOff
from shared_schema.fold import Finding
from shared_schema.ids import parse_entry_id

__all__ = ["list_structure"]


def list_structure(store: Store, structure: str, survey: str) -> Iterator[str]:
    """Lines of text: for each page who vouched for it in `survey`, then each fragment with its facts.

    A status in capitals is of `survey`; one in brackets is what an earlier survey found.
    """
    chart = store.on_structure(structure)
    yield f"{structure}  {chart.standing.value('name') or ''}  survey {survey or '(none)'}".rstrip()
    for page in chart.pages:
        yield ""
        yield f"{page}  {'; '.join(_vouched(store, page, survey)) or 'nobody signed it off'}"
        for hung in chart.on_page(page):
            yield f"  {hung.place:<14}{hung.fragment:<16}{hung.standing.value('genet') or '':<12}{_status(hung, survey)}"
            for finding in hung.findings:
                yield from _disagreements(store, finding)


def _vouched(store: Store, page: str, survey: str) -> Iterator[str]:
    for said in store.logged(survey, f"page:{page}", "coverage"):
        if isinstance(said, PageSignedOff):
            yield f"signed off by {said.by}: {said.alive} alive, {said.marked} marked, {said.unseen} unseen"
        elif isinstance(said, PageNotReached):
            yield f"not reached, says {said.by}: {said.reason or 'no reason given'}"


def _status(hung: Hung, survey: str) -> str:
    finding = hung.finding(survey)
    status = None if finding is None else finding.value("status")
    if status is not None:
        tissue = finding.value("live_tissue") if finding else None
        return str(status).upper() + ("" if tissue is None else f" {tissue} %")
    before = hung.before(survey)
    return "?" if before is None else f"({before.value}, {before.survey})"


def _disagreements(store: Store, finding: Finding) -> Iterator[str]:
    entries = {entry.id: entry for entry in store.entries_of(finding.survey, finding.subject)}
    for fact in finding.open:
        said = []
        for name in sorted(finding.slots[fact].disputed, key=parse_entry_id):
            value = dict(entries[name].facts())[fact]
            said.append(f"{entries[name].by} says {value} ({name})")
        yield f"    disagree on {fact} in {finding.survey or 'the standing record'}: {'; '.join(said)}"
