"""The tablet speaks five languages, and says everything in each of them."""

import pytest

from mobile.words import HERE, LANGUAGES, read_words
from tests.words import catalogues, long_words

pytestmark = pytest.mark.usefixtures("compiled_words")


def test_every_language_has_a_catalogue_and_none_is_left_over() -> None:
    """The languages that can be chosen are those that are translated."""
    assert {path.stem for path in HERE.glob("*.po")} == set(LANGUAGES) == set(catalogues().LANGUAGES)


def test_texts_in_rules_are_found() -> None:
    """What a rule says is found on one line, within a longer expression and over several lines, each with its line."""
    rule = """
<Button>:
    text: _("One")
    # text: _("Nobody says this")
    on_act: root.say(_("Two"), "not this")
    text:
        (_("Three") if self.signed \\
        else _('Four'))
"""
    program = catalogues()
    lines = program._call_by_call(program.rule_expressions(rule)).splitlines()
    assert [(number, line) for number, line in enumerate(lines, 1) if line] == [
        (3, '_("One")'),
        (5, '_("Two")'),
        (7, '_("Three")'),
        (8, "_('Four')"),
    ]


def test_texts_are_found_in_code_and_in_rules() -> None:
    """A text of a rule, one of the code, a number's forms and a letter are all there to be translated."""
    found = {(context, text) for _, _, text, context in catalogues().tablet_texts()}
    expected = {(None, "Undo"), (None, "bleached"), ("condition letter", "B"), (None, ("{n} alive", "{n} alive"))}
    assert expected <= found


def test_numbers_take_the_form_that_their_language_wants() -> None:
    """One is singular in Spanish, none is singular in French, and Indonesian has one form."""
    count = {language: read_words(language).count for language in LANGUAGES}
    assert count["es"]("{n} alive", "{n} alive", 1) == "1 vivo"
    assert count["es"]("{n} alive", "{n} alive", 2) == "2 vivos"
    assert count["fr"]("{n} alive", "{n} alive", 0) == "0 vivant"
    assert count["id"]("{n} alive", "{n} alive", 2) == "2 hidup"


def test_a_tablet_without_a_catalogue_speaks_english() -> None:
    """A language whose catalogue is missing says everything in English, letters too, and does not stop the tablet."""
    words = read_words("tlh")
    assert (words.text("Undo"), words.letter("B"), words.count("{n} alive", "{n} alive", 3)) == ("Undo", "B", "3 alive")


def test_the_long_language_is_longer() -> None:
    """What layouts are tried with is at least 35 % longer than English."""
    assert len(long_words().text("Place, then status")) >= 1.35 * len("Place, then status")
