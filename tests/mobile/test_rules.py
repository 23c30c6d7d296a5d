"""The rules of screens: each file can be the first that is loaded after those that every start loads."""

import re
from pathlib import Path

import pytest

import mobile

ROOM = Path(mobile.__file__).parent
FILES = sorted((ROOM / "screens").glob("*.kv"))
KIVYS = {"AnchorLayout", "BoxLayout", "FloatLayout", "GridLayout", "Widget"}
SHARED = set(re.findall(r"^<(\w+)@", (ROOM / "screens" / "rows.kv").read_text(encoding="utf-8"), re.MULTILINE))


@pytest.mark.parametrize("path", FILES, ids=lambda path: path.name)
def test_a_file_of_rules_names_all_that_it_is_made_of(path: Path) -> None:
    """Screens are built in any order: what one uses must not have come in with another."""
    text = path.read_text(encoding="utf-8")
    used = set(re.findall(r"^ +([A-Z]\w+):$", text, re.MULTILINE)) - {"Color", "Rectangle", "RoundedRectangle"}
    used -= {name for name in used if name.startswith("Smooth")}
    named = set(re.findall(r"^#:import (\w+) ", text, re.MULTILINE)) | set(re.findall(r"^<(\w+)@", text, re.MULTILINE))
    module = path.with_suffix(".py")
    own = set(re.findall(r"^class (\w+)", module.read_text(encoding="utf-8"), re.MULTILINE)) if module.exists() else set()
    assert used - named - own - KIVYS - SHARED == set()
