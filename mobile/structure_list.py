"""The structures of a survey as a crew chooses among them: how far each is, and where it asks."""

from dataclasses import dataclass

from mobile.chart import StructureChart
from mobile.overview import PageMark
from mobile.page_state import page_marks
from mobile.store import Store

__all__ = ["StructureRow", "structure_row"]


@dataclass(frozen=True, slots=True)
class StructureRow:
    """One structure. `ready` says that its design is known, so that it can be opened; `marks` are its pages in order."""

    structure: str
    name: str
    marks: tuple[PageMark, ...]
    ready: bool

    @property
    def finished(self) -> int:
        """How many pages were signed off or not reached."""
        return sum(mark.state in ("signed_off", "not_reached") for mark in self.marks)

    @property
    def asking(self) -> int:
        """On how many pages records disagree."""
        return sum(mark.open for mark in self.marks)


def structure_row(store: Store, structure: str, survey: str) -> StructureRow:
    """How far a structure is."""
    chart: StructureChart = store.on_structure(structure)
    name = chart.standing.value("name") or structure
    return StructureRow(structure, name, page_marks(chart, survey), chart.design is not None)
