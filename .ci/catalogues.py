"""The catalogues of what people read: python .ci/catalogues.py update, missing, or compile.

`update` finds every text in the code, in Kivy's rules and in the pages' templates, and brings it into each catalogue,
translations kept: what tablet and office both say into shared_schema/words, the rest into their own. `missing` lists what
has no translation yet. `compile` makes the files that the programs read; an installation does that by itself
(hatch_build.py), and so do the tests. An empty server/words/LANGUAGE.po before `update` begins a language of the office.
"""

import os
import re
import sys
from collections.abc import Iterator, Mapping, Sequence
from functools import cache
from io import BytesIO
from pathlib import Path
from typing import Any

from babel.messages.catalog import Catalog
from babel.messages.extract import extract_python
from babel.messages.mofile import write_mo
from babel.messages.pofile import read_po, write_po

ROOT = Path(__file__).resolve().parent.parent
FOLDERS = {"shared": ROOT / "shared_schema" / "words", "tablet": ROOT / "mobile" / "words", "office": ROOT / "server" / "words"}
LANGUAGES = ("en", "es", "fr", "id", "pt_BR")

Text = tuple[str, int, Any, str | None]
"""Its file, its line, the text (or its forms for numbers), and its context."""
Key = tuple[str | None, Any]

_TABLET: dict[str, Any] = {"_": None, "text": None, "count": (1, 2), "pgettext": ((1, "c"), 2)}
_OFFICE: dict[str, Any] = {"gettext": None, "mark": None, "say": None, "ngettext": (1, 2), "pgettext": ((1, "c"), 2)} | {
    "mark_in": ((1, "c"), 2)
}
# Errors are shown on the pages where these raise them: the first argument is the message.
_ERRORS = ("BadId", "NotAllowed", "NothingSuch", "RecordError", "SchemaError", "SpentCode", "TooManyTries")
_SAYS_ERRORS = (
    *("server/access/", "server/pages/", "server/review/"),
    *("server/store/photos.py", "server/store/tablets.py", "shared_schema/ids.py"),
)
# What terminals show stays English, so that it can be searched.
_ENGLISH = ("server/cli/", "server/demo/")

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


def _in_python(name: str, source: str, keywords: Mapping[str, Any]) -> Iterator[Text]:
    for line, function, found, _comments in extract_python(BytesIO(source.encode()), dict(keywords), (), {"encoding": "utf-8"}):
        yield from _said(name, line, function, found)


def _said(name: str, line: int, function: str | None, found: Any) -> Iterator[Text]:
    if function in ("_", "text", "gettext", "mark") and not name.endswith(".html") and not isinstance(found, str):
        return  # text(WORDS["bleaching", "none"]) looks up a text, and is none
    parts = found if isinstance(found, tuple | list) else (found,)
    several = function in ("count", "ngettext")
    if several and len(parts) > 1 and all(isinstance(part, str) for part in parts[:2]):
        yield name, line, tuple(parts[:2]), None
    elif function in ("pgettext", "mark_in") and len(parts) > 1 and parts[1]:
        yield name, line, parts[1], parts[0]
    elif not several and function not in ("pgettext", "mark_in") and parts and isinstance(parts[0], str) and parts[0]:
        yield name, line, parts[0], None


def tablet_texts() -> Iterator[Text]:
    """Every text of the tablet."""
    for path in sorted((ROOT / "mobile").rglob("*")):
        if path.suffix not in (".py", ".kv"):
            continue
        source = path.read_text(encoding="utf-8")
        if path.suffix == ".kv":
            source = _call_by_call(rule_expressions(source))
        yield from _in_python(str(path.relative_to(ROOT)), source, _TABLET)
    ready = ROOT / "shared_schema" / "ready_words.py"
    yield from _in_python(str(ready.relative_to(ROOT)), ready.read_text(encoding="utf-8"), {"mark": None})


def office_texts() -> Iterator[Text]:
    """Every text of the office's pages, and what the record says to people."""
    from jinja2.ext import babel_extract  # noqa: PLC0415  # an installation only compiles, and has no Jinja

    for room in ("server", "shared_schema"):
        for path in sorted((ROOT / room).rglob("*.py")):
            name = path.relative_to(ROOT).as_posix()
            if name.startswith(_ENGLISH):
                continue
            keywords = _OFFICE | (dict.fromkeys(_ERRORS) if name.startswith(_SAYS_ERRORS) else {})
            yield from _in_python(name, path.read_text(encoding="utf-8"), keywords)
    for path in sorted((ROOT / "server" / "templates").rglob("*.html")):
        with path.open("rb") as file:
            options = {"newstyle_gettext": "true", "silent": "false", "encoding": "utf-8"}
            for line, function, found, _comments in babel_extract(file, ("_", "gettext", "ngettext", "pgettext"), (), options):
                yield from _said(path.relative_to(ROOT).as_posix(), line, function, found)


@cache
def _all_texts() -> Mapping[str, Sequence[Text]]:
    return {"tablet": list(tablet_texts()), "office": list(office_texts())}


def template(part: str) -> Catalog:
    """A catalogue of every text of a part ("shared", "tablet", "office"), untranslated."""
    texts = _all_texts()
    keys = {room: {(context, text) for _, _, text, context in found} for room, found in texts.items()}
    both = keys["tablet"] & keys["office"]
    catalogue = Catalog(project="Crosstree", charset="utf-8")
    for _, _, text, context in texts["tablet" if part == "shared" else part]:
        if ((context, text) in both) == (part == "shared"):
            catalogue.add(text, context=context)
    return catalogue


def languages(part: str) -> Sequence[str]:
    """The languages of a part: the tablet's are fixed, the office's are those that have a file."""
    return sorted(path.stem for path in FOLDERS["office"].glob("*.po")) if part == "office" else LANGUAGES


def read(part: str, language: str) -> Catalog:
    """A language's catalogue as it is kept."""
    with (FOLDERS[part] / f"{language}.po").open("rb") as file:
        return read_po(file, locale=language)


def _known(language: str) -> dict[Key, Any]:
    """Every translation into a language, wherever it is kept now; where two differ, the tablet's."""
    known: dict[Key, Any] = {}
    for part in ("office", "shared", "tablet"):
        if (FOLDERS[part] / f"{language}.po").exists():
            known |= {(one.context, one.id): one.string for one in read(part, language) if one.id and _whole(one)}
    return known


def _whole(message: Any) -> bool:
    return all(message.string) if isinstance(message.string, tuple) else bool(message.string)


def _plural_forms(language: str) -> str:
    """As the catalogues of the language have them, whatever Babel thinks: it knows too many of Indonesian."""
    kept = (read(part, language) for part in ("tablet", "office") if language in languages(part))
    return next((one.plural_forms for one in kept if len(one)), Catalog(locale=language).plural_forms)


def update() -> None:
    """Bring every text into every catalogue; in English a text is its own translation."""
    templates = {part: template(part) for part in FOLDERS}
    for language in sorted({*LANGUAGES, *languages("office")}):
        known = _known(language)
        for part, found in templates.items():
            if language in languages(part):
                _write(part, language, found, known)


def _write(part: str, language: str, found: Catalog, known: Mapping[Key, Any]) -> None:
    catalogue = Catalog(locale=language, charset="utf-8", header_comment=f"# Words of the {part}: {language}", fuzzy=False)
    catalogue.mime_headers = [("Plural-Forms", _plural_forms(language)), ("Content-Type", "text/plain; charset=utf-8")]
    for message in found:
        if message.id:
            string = message.id if language == "en" else known.get((message.context, message.id), "")
            catalogue.add(message.id, string, context=message.context)
    made = BytesIO()
    write_po(made, catalogue, width=120, sort_output=True, no_location=True)
    lines = made.getvalue().decode().splitlines(keepends=True)
    (FOLDERS[part] / f"{language}.po").write_text("".join(line for line in lines if not line.startswith(_CHURN)), encoding="utf-8")


def missing() -> Iterator[tuple[str, str, Any]]:
    """(part, language, text) of all that has no translation yet."""
    for part in FOLDERS:
        for language in languages(part):
            yield from ((part, language, one.id) for one in read(part, language) if one.id and not _whole(one))


def compile_all() -> None:
    """Make the file that the programs read beside each catalogue, where it is missing or older."""
    for path in sorted(path for folder in FOLDERS.values() for path in folder.glob("*.po")):
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


def _say_missing() -> None:
    for part, language, text in missing():
        sys.stdout.write(f"{part} {language}: {text!r}\n")


if __name__ == "__main__":
    {"update": update, "missing": _say_missing, "compile": compile_all}[sys.argv[1]]()
