"""What a page shows of the record: each position with this dive's word, the last visit's, and open questions."""

from collections.abc import Collection
from dataclasses import replace

from mobile.board import BoardPicture, BoardSpot
from mobile.chart import Hung, StructureChart
from mobile.page_state import asks, asks_itself
from shared_schema.designs import Page
from shared_schema.facts import attention
from shared_schema.fold import Finding

__all__ = ["PlaceViews", "picture_page", "status_here"]


class PlaceViews:
    """What `survey` shows of positions. It remembers each as long as the chart keeps what hangs there, to the object."""

    def __init__(self, survey: str) -> None:
        self._survey = survey
        self._known: dict[str, tuple[tuple[Hung, ...], tuple[Finding, ...], BoardSpot]] = {}

    def at(self, chart: StructureChart, path: str) -> BoardSpot:
        """A position, but for what is no part of the record: the ring, the selection, and that nobody looked."""
        place = f"{chart.structure}/{path}"
        several, own = chart.at(place), chart.about.get(f"position:{place}", ())
        known = self._known.get(place)
        if known is None or known[0] is not several or known[1] is not own:
            known = self._known[place] = (several, own, self._look(chart, place, path))
        return known[2]

    def known_statuses(self, chart: StructureChart, page: Page) -> tuple[tuple[str, str], ...]:
        """(path, status) of all on a page that the survey speaks of, for the small map."""
        spots = (self.at(chart, position.path) for position in page.positions)
        return tuple((spot.path, spot.status) for spot in spots if spot.status is not None)

    def forget(self) -> None:
        """Another structure is looked at."""
        self._known.clear()

    def _look(self, chart: StructureChart, place: str, path: str) -> BoardSpot:
        several, status = chart.at(place), status_here(chart, place, self._survey)
        return BoardSpot(
            path,
            status=status,
            faint=_before(several, self._survey),
            open=asks(several) or asks_itself(chart, place),
            empty=status is None and not any(hung.here for hung in several),
        )


def picture_page(
    views: PlaceViews, chart: StructureChart, page: Page, unseen: Collection[str], selected: Collection[str], touched: str
) -> BoardPicture:
    """A page as a survey has it. `unseen` and `touched` are addresses, `selected` paths."""
    spots = []
    for position in page.positions:
        path, spot = position.path, views.at(chart, position.path)
        place = f"{chart.structure}/{path}"
        ringed, chosen, skipped = place == touched, path in selected, spot.status is None and place in unseen
        if ringed or chosen or skipped:
            spot = replace(spot, last_touched=ringed, selected=chosen, unseen=skipped)
        spots.append(spot)
    return BoardPicture(page, tuple(spots))


def status_here(chart: StructureChart, place: str, survey: str) -> str | None:
    """What this survey says of a position: of what hangs there, else of the position itself; the worst, where there are two."""
    findings = [hung.finding(survey) for hung in chart.at(place)] or [chart.finding(f"position:{place}", survey)]
    found = [finding.value("status") for finding in findings if finding is not None]
    said = [status for status in found if status is not None]
    return max(said, key=lambda status: attention("status", status)) if said else None


def _before(several: tuple[Hung, ...], survey: str) -> str | None:
    """What the last visit found."""
    found = [before.value for hung in several if (before := hung.before(survey)) is not None]
    return max(found, key=lambda status: attention("status", status)) if found else None
