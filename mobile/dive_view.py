"""What a page shows of the record: each position with this dive's word, the last visit's, and open questions."""

from collections.abc import Collection

from mobile.board import BoardPicture, BoardSpot
from mobile.chart import Hung, StructureChart
from mobile.page_state import asks, asks_itself
from shared_schema.designs import Page
from shared_schema.facts import attention

__all__ = ["known_statuses", "picture_page", "status_here"]


def picture_page(
    chart: StructureChart, page: Page, survey: str, unseen: Collection[str], selected: Collection[str], touched: str
) -> BoardPicture:
    """A page as `survey` has it. `unseen` and `touched` are addresses, `selected` paths."""
    spots = []
    for position in page.positions:
        place = f"{chart.structure}/{position.path}"
        several = chart.at(place)
        status = status_here(chart, place, survey)
        spots.append(
            BoardSpot(
                position.path,
                status=status,
                faint=_before(several, survey),
                open=asks(several) or asks_itself(chart, place),
                last_touched=place == touched,
                selected=position.path in selected,
                empty=status is None and not any(hung.here for hung in several),
                unseen=status is None and place in unseen,
            )
        )
    return BoardPicture(page, tuple(spots))


def status_here(chart: StructureChart, place: str, survey: str) -> str | None:
    """What this survey says of a position: of what hangs there, else of the position itself; the worst, where there are two."""
    findings = [hung.finding(survey) for hung in chart.at(place)] or [chart.finding(f"position:{place}", survey)]
    found = [finding.value("status") for finding in findings if finding is not None]
    said = [status for status in found if status is not None]
    return max(said, key=lambda status: attention("status", status)) if said else None


def known_statuses(chart: StructureChart, page: Page, survey: str) -> tuple[tuple[str, str], ...]:
    """(path, status) of all on a page that this survey speaks of, for the small map."""
    said = ((position.path, status_here(chart, f"{chart.structure}/{position.path}", survey)) for position in page.positions)
    return tuple((path, status) for path, status in said if status is not None)


def _before(several: tuple[Hung, ...], survey: str) -> str | None:
    """What the last visit found."""
    found = [before.value for hung in several if (before := hung.before(survey)) is not None]
    return max(found, key=lambda status: attention("status", status)) if found else None
