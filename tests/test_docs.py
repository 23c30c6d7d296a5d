"""The docs name what there is: every kind of entry, command, setting, error, and every link leads somewhere."""

import re
from pathlib import Path
from typing import Any

import pytest
import typer.main

from server.cli import app
from server.pages.repair_words import SORT_TITLES
from shared_schema.entries import KINDS
from shared_schema.facts import FACTS
from shared_schema.problems import PROBLEMS

ROOT = Path(__file__).parents[1]
DOCS = ROOT / "docs"
PAGES = [ROOT / "README.md", ROOT / "DEVELOPERS.md", ROOT / "CHANGELOG.md", *sorted(DOCS.rglob("*.md"))]


def named(page: Path) -> set[str]:
    """What stands in code quotes on a page."""
    return set(re.findall(r"`([^`\n]+)`", page.read_text()))


def commands(command: Any, path: str) -> list[str]:
    """A command and those below it, as typed."""
    if not hasattr(command, "commands"):
        return [path]
    return [line for name, below in command.commands.items() for line in commands(below, f"{path} {name}")]


def test_every_kind_of_entry_stands_in_the_protocol() -> None:
    """A stranger writes a client from that page."""
    assert set(KINDS) <= named(DOCS / "sync-protocol.md")


def test_every_fact_stands_in_the_protocol() -> None:
    """The fields by which entries state facts; logs stand there as kinds."""
    missing = {name for name, fact in FACTS.items() if fact.mode == "register"} - named(DOCS / "sync-protocol.md") - {"dive"}
    assert missing == set()


def test_every_error_of_the_protocol_stands_there() -> None:
    """With what to do."""
    assert {slug for slug, _, _ in PROBLEMS.values()} <= named(DOCS / "sync-protocol.md")


def test_every_command_stands_in_operating() -> None:
    """As it is typed."""
    assert set(commands(typer.main.get_command(app), "crosstree")) <= named(DOCS / "operating.md")


def test_every_setting_stands_in_operating() -> None:
    """Environment variables that the server reads."""
    read = {name for path in (ROOT / "server").rglob("*.py") for name in re.findall(r"CROSSTREE_[A-Z_]+", path.read_text())}
    text = (DOCS / "operating.md").read_text()
    assert read
    assert [name for name in sorted(read) if name not in text] == []


def test_every_sort_of_discrepancy_stands_in_putting_right() -> None:
    """Under the title that the list has for it."""
    text = (DOCS / "putting-right.md").read_text()
    assert [title for title in SORT_TITLES.values() if f"| {title} |" not in text] == []


@pytest.mark.parametrize("page", PAGES, ids=lambda page: str(page.relative_to(ROOT)))
def test_links_lead_somewhere(page: Path) -> None:
    """Within the repository; anchors too."""
    for target in re.findall(r"\]\(([^)\s]+)\)", page.read_text()):
        if "://" in target:
            continue
        path, _, anchor = target.partition("#")
        linked = (page.parent / path).resolve() if path else page
        assert linked.exists(), f"{page.name} links to {target}, which is not there"
        if anchor:
            titles = re.findall(r"^#+ (.+)$", linked.read_text(), re.MULTILINE)
            assert anchor in {re.sub(r"[^\w -]", "", title).lower().replace(" ", "-") for title in titles}, target
