"""Upkeep as a crew ticks it off: which works were done in this survey on a place, a page, a structure."""

from typing import Final

from mobile.dive_desk import DiveDesk
from shared_schema.entries import UpkeepDone

__all__ = ["WORKS", "UpkeepDesk"]


def _(text: str) -> str:
    """Marks a text for the catalogues; it is translated where it is shown."""
    return text


WORKS: Final = {
    "cleaned": _("Cleaned"),
    "predators_removed": _("Predators removed"),
    "tie_replaced": _("Tie replaced"),
    "tag_cleaned": _("Tag cleaned"),
    "float_checked": _("Float checked"),
    "anchor_checked": _("Anchor checked"),
    "arm_replaced": _("Arm replaced"),
    "repaired": _("Repaired"),
    "rehung": _("Hung again"),
}
"""Every work of shared_schema.facts, with the word that its button says."""


class UpkeepDesk:
    """Upkeep of one scope: an address, or the structure's id."""

    def __init__(self, desk: DiveDesk, scope: str) -> None:
        self.desk, self.scope = desk, scope

    @property
    def scopes(self) -> tuple[str, ...]:
        """The structure, the page, and the place where one is selected."""
        places = self.desk.selection
        return (self.desk.open.name, self.desk.page_address, *(places if len(places) == 1 else ()))

    @property
    def done(self) -> frozenset[str]:
        """The works that somebody says were done in this survey."""
        return frozenset(work for entry in self._said() for work in entry.work)

    def toggle(self, work: str) -> None:
        """It was done; or, where the same person said so alone, it was not after all."""
        scope = self.scope
        own = [entry for entry in self._said() if entry.by == self.desk.recorder.by and entry.work == (work,)]
        if own:
            self.desk.record(lambda recorder: recorder.take_back("upkeep taken back", scope, own[-1].id))
        else:
            self.desk.record(lambda recorder: recorder.upkeep(scope, [work]))

    def _said(self) -> list[UpkeepDone]:
        sort = "position" if "." in self.scope else "page" if "/" in self.scope else "structure"
        subject = f"{sort}:{self.scope}"
        return [one for one in self.desk.store.logged(self.desk.survey, subject, "upkeep") if isinstance(one, UpkeepDone)]
