"""No barrier that a program can find: what axe looks for on a page."""

from typing import Final

from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Page

__all__ = ["no_barrier"]

RULES: Final = {
    "runOnly": ["wcag2a", "wcag2aa", "wcag21aa", "wcag22aa", "best-practice", "wcag2aaa"],
    # All rules look at all elements; of what passes there is no list then, which on a map took as long as the looking.
    "resultTypes": ["violations"],
}
"""WCAG to AAA, with contrast at 7:1."""


def no_barrier(page: Page) -> None:
    """Nothing on the page that is open breaks these rules."""
    found = Axe().run(page, options=RULES)
    assert found.violations_count == 0, f"{page.url}: {found.generate_report()}"
