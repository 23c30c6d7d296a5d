"""Everything that people read is in the catalogues, and every catalogue says all of it."""

import ast
import re
from collections.abc import Iterator
from functools import cache
from html.parser import HTMLParser
from pathlib import Path
from typing import Any

import pytest
from jinja2 import Environment

from server.pages.states import STATE_LOOKS
from tests.words import catalogues

ROOT = Path(__file__).parents[1]
TEMPLATES = sorted((ROOT / "server" / "templates").rglob("*.html"))
PROGRAM = catalogues()
KEPT = [(part, language) for part in PROGRAM.FOLDERS for language in PROGRAM.languages(part)]
WHAT_TO_DO = "run: python .ci/catalogues.py update, and translate what `missing` lists"

READ_ALOUD = ("alt", "aria-label", "placeholder", "title", "data-show", "data-label", "data-on", "data-off")
NO_WORDS = {"Crosstree", "crosstree", "office", "link", "first", "name", "UTC", "mm"}
"""A name, commands, and units that are written alike in every language."""


@cache
def wanted(part: str) -> frozenset[tuple[str | None, Any]]:
    """The texts of a part, each with its context."""
    return frozenset((message.context, message.id) for message in PROGRAM.template(part) if message.id)


def strings(message: Any) -> tuple[str, ...]:
    """The forms of a translation."""
    return message.string if isinstance(message.string, tuple) else (message.string,)


def places(text: str) -> set[str]:
    """`%(name)s`, `{name}` and their like, by name."""
    return set(re.findall(r"%\((\w+)\)", text)) | set(re.findall(r"\{(\w*)\}", text))


@pytest.mark.parametrize(("part", "language"), KEPT)
def test_every_text_is_translated_and_nothing_is_left_over(part: str, language: str) -> None:
    """No text of code, rules or templates is missing, none is half translated, none is one that nobody says any more."""
    kept = PROGRAM.read(part, language)
    assert {(message.context, message.id) for message in kept if message.id} == wanted(part), WHAT_TO_DO
    assert not kept.obsolete
    for message in kept:
        if message.id:
            assert all(strings(message)), f"{message.id!r} is not translated: {WHAT_TO_DO}"
            assert not message.fuzzy, message.id
            if isinstance(message.id, tuple) and language != "en":
                assert len(strings(message)) == kept.num_plurals, message.id


@pytest.mark.parametrize(("part", "language"), [pair for pair in KEPT if pair[1] != "en"])
def test_translations_keep_the_places_of_values(part: str, language: str) -> None:
    """A translation that dropped a place says less than the original; one that invented one fails."""
    for message in PROGRAM.read(part, language):
        originals = message.id if isinstance(message.id, tuple) else (message.id,)
        for form, text in enumerate(strings(message)):
            # Of one thing the number may be left out, where the original does.
            allowed = [places(originals[-1]), *([places(originals[0])] if form == 0 and len(strings(message)) > 1 else [])]
            assert places(text) in allowed, (message.id, text)
            for original in originals:
                # A lone per cent sign where values are put in would fail, and two where they are not would show.
                assert ("%%" in text) == ("%%" in original) or not places(original), (message.id, text)


@pytest.mark.parametrize("language", PROGRAM.LANGUAGES)
def test_what_both_say_stands_in_one_place(language: str) -> None:
    """So that a word is the same on the boat and at the office: none of the shared texts is in another catalogue too."""
    shared = {(message.context, message.id) for message in PROGRAM.read("shared", language) if message.id}
    assert ("condition letter", "B") in shared
    for part in ("tablet", "office"):
        if language in PROGRAM.languages(part):
            assert not shared & {(message.context, message.id) for message in PROGRAM.read(part, language)}


@pytest.mark.parametrize("language", PROGRAM.languages("office"))
def test_letters_tell_apart_in_every_language(language: str) -> None:
    """Each condition has a letter of its own, and each state; colour alone says nothing."""
    for part, context, least in (("shared", "condition letter", 8), ("office", "state letter", len(STATE_LOOKS))):
        letters = [one.string for one in PROGRAM.read(part, language) if one.context == context]
        assert len(set(letters)) == len(letters) >= least
        assert all(len(letter) == 1 for letter in letters)


class _Bare(HTMLParser):
    """Collects what people would read of a template's own text."""

    def __init__(self) -> None:
        super().__init__(convert_charrefs=True)
        self.found: list[str] = []
        self._silent = 0

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        """Take the attributes that are shown or read aloud."""
        self._silent += tag in ("script", "style")
        self.found += [value for name, value in attrs if name in READ_ALOUD and value]

    def handle_endtag(self, tag: str) -> None:
        """Come out of what is not shown."""
        self._silent -= tag in ("script", "style")

    def handle_data(self, data: str) -> None:
        """Take the text."""
        if not self._silent:
            self.found.append(data)


def bare_words(source: str) -> set[str]:
    """Words of a template's HTML that go through no catalogue."""
    plain = "".join(text if kind == "data" else " " for _, kind, text in Environment(autoescape=True).lex(source))
    reader = _Bare()
    reader.feed(plain)
    # Where a macro gives attributes or a query, they look like text.
    texts = (re.sub(r'[\w-]+="[^"]*"|[?&]\w+=', " ", text) for text in reader.found)
    return {word for text in texts for word in re.findall(r"[^\W\d_]{2,}", text)} - NO_WORDS


@pytest.mark.parametrize("path", TEMPLATES, ids=lambda path: path.name)
def test_no_template_says_a_word_by_itself(path: Path) -> None:
    """Each stands in _("...") or ngettext("...", "...", n)."""
    assert bare_words(path.read_text()) == set()


def test_words_that_a_template_says_by_itself_are_found() -> None:
    """In text, between expressions, and in what is read aloud; not in what is marked or in names of styles."""
    source = '<p class="big">{{ one }} fish{% if two %} swim{% endif %}</p><a title="Away" href="/x">{{ _("There") }}</a>'
    assert bare_words(source) == {"fish", "swim", "Away"}


def _raised(path: Path) -> Iterator[ast.Call]:
    for node in ast.walk(ast.parse(path.read_text())):
        if isinstance(node, ast.Call) and isinstance(node.func, ast.Name) and node.func.id in PROGRAM._ERRORS:
            yield node


def test_errors_that_people_read_come_with_their_values_apart() -> None:
    """A sentence with its values in it already could not be said in another language."""
    read = [*sorted((ROOT / "server").rglob("*.py")), *sorted((ROOT / "shared_schema").rglob("*.py"))]
    glued = [
        f"{path.relative_to(ROOT)}:{call.lineno}"
        for path in read
        if path.relative_to(ROOT).as_posix().startswith(PROGRAM._SAYS_ERRORS)
        for call in _raised(path)
        if call.args and isinstance(call.args[0], ast.JoinedStr | ast.BinOp)
    ]
    assert glued == []


def test_pages_show_errors_in_the_readers_language() -> None:
    """By in_words: str(error) is English."""
    pages = sorted((ROOT / "server" / "pages").rglob("*.py"))
    assert [path.name for path in pages if re.search(r"\bstr\((error|problem|wrong)\)", path.read_text())] == []
