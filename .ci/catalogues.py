"""The catalogues of the tablet's words: python .ci/catalogues.py update, or compile.

`update` finds every text in the code and in Kivy's rules and brings it into each catalogue, translations kept. `compile`
makes the files that the program reads; an installation does that by itself (hatch_build.py), and so do the tests.
"""

import os
import re
import sys
from collections.abc import Iterator
from io import BytesIO
from pathlib import Path
from typing import Any

from babel.messages.catalog import Catalog
from babel.messages.extract import extract_python
from babel.messages.mofile import write_mo
from babel.messages.pofile import read_po, write_po

ROOT = Path(__file__).resolve().parent.parent
WORDS = ROOT / "mobile" / "words"
LANGUAGES = ("en", "es", "fr", "id", "pt_BR")
KEYWORDS: dict[str, Any] = {"_": None, "text": None, "count": (1, 2), "pgettext": ((1, "c"), 2)}

# Header lines that change with every run and say nothing.
_CHURN = tuple(f'"{name}' for name in ("Project", "Report", "POT", "PO-", "Last-", "Language-Team", "Generated"))

_RULE = re.compile(r"^\s*[\w.]+\s*:(?!:)\s*(.*)$")


def rule_expressions(text: str) -> str:
    """The Python in a kv file, each piece on its own line: Kivy's rules are `name: expression`, or go on over lines."""
    lines = []
    for line in text.splitlines():
        named = _RULE.match(line)
        expression = (named[1] if named else line).strip().rstrip("\\").strip()
        lines.append(expression if "_(" in expression and not expression.startswith("#") else "")
    return "\n".join(lines) + "\n"


def _call_by_call(text: str) -> str:
    # A piece may end within brackets that another line closes: keep the calls alone, which are whole.
    calls = re.compile(r"""\b_\(\s*("(?:[^"\\]|\\.)*"|'(?:[^'\\]|\\.)*')\s*\)""")
    return "\n".join("; ".join(match[0] for match in calls.finditer(line)) for line in text.splitlines()) + "\n"


def texts() -> Iterator[tuple[str, int, Any, str | None]]:
    """Every text: its file, its line, the text (or its forms for numbers), and its context."""
    for path in sorted((ROOT / "mobile").rglob("*")):
        if path.suffix not in (".py", ".kv"):
            continue
        source = path.read_text(encoding="utf-8")
        if path.suffix == ".kv":
            source = _call_by_call(rule_expressions(source))
        for line, function, found, _comments in extract_python(BytesIO(source.encode()), KEYWORDS, (), {"encoding": "utf-8"}):
            name = str(path.relative_to(ROOT))
            if function == "count" and isinstance(found, tuple) and all(isinstance(part, str) for part in found[:2]):
                yield name, line, found[:2], None
            elif function == "pgettext" and isinstance(found, tuple) and found[1]:
                yield name, line, found[1], found[0]
            elif function in ("_", "text") and isinstance(found, str) and found:
                yield name, line, found, None


def template() -> Catalog:
    """A catalogue of every text, untranslated."""
    catalogue = Catalog(project="Crosstree", charset="utf-8")
    for name, line, text, context in texts():
        catalogue.add(text, locations=[(name, line)], context=context)
    return catalogue


def read(language: str) -> Catalog:
    """A language's catalogue as it is kept."""
    with (WORDS / f"{language}.po").open("rb") as file:
        return read_po(file, locale=language)


def update() -> None:
    """Bring every text into every catalogue; in English a text is its own translation."""
    for language in LANGUAGES:
        path = WORDS / f"{language}.po"
        catalogue = read(language) if path.exists() else Catalog(locale=language)
        catalogue.update(template(), no_fuzzy_matching=True)
        catalogue.obsolete.clear()
        catalogue.fuzzy = False
        catalogue.header_comment = f"# The tablet's words: {language}"
        if language == "en":
            for message in catalogue:
                message.string = message.id
        made = BytesIO()
        write_po(made, catalogue, width=120, sort_output=True, no_location=True)
        lines = made.getvalue().decode().splitlines(keepends=True)
        path.write_text("".join(line for line in lines if not line.startswith(_CHURN)), encoding="utf-8")


def compile_all() -> None:
    """Make the file that the program reads beside each catalogue, where it is missing or older."""
    for path in sorted(WORDS.glob("*.po")):
        made = path.with_suffix(".mo")
        if made.exists() and made.stat().st_mtime >= path.stat().st_mtime:
            continue
        with path.open("rb") as file:
            catalogue = read_po(file, locale=path.stem)
        # Whole or not at all: two test runs may do this at once.
        half = made.with_name(f"{made.name}.{os.getpid()}")
        with half.open("wb") as file:
            write_mo(file, catalogue)
        half.replace(made)


if __name__ == "__main__":
    {"update": update, "compile": compile_all}[sys.argv[1]]()
