"""The exceptions, and the tree of them that is drawn for whoever handles them."""

import re

import pytest

from shared_schema import errors
from shared_schema.errors import BadFrame, CrosstreeError, EntryNotUnderstood, IdentityClash, SequenceGap


def drawn() -> dict[str, str | None]:
    """name -> the one that it is drawn under, as the tree at the top of errors.py has it."""
    assert errors.__doc__ is not None
    tree = errors.__doc__.partition("\n\n")[2]
    branch: list[str] = []
    found: dict[str, str | None] = {}
    for lead, name in re.findall(r"^((?:[│ ]   )*(?:[├└]── )?)([A-Z]\w+)(?=\n| +\w)", tree, re.MULTILINE):
        branch[len(lead) // 4 :] = [name]
        found[name] = branch[-2] if len(branch) > 1 else None
    return found


def derived(kind: type[Exception]) -> dict[str, str | None]:
    """name -> what it is derived from, of all that errors.py defines under an error."""
    children = [child for child in kind.__subclasses__() if child.__module__ == errors.__name__]
    return {child.__name__: kind.__name__ for child in children} | {k: v for child in children for k, v in derived(child).items()}


def test_the_tree_of_errors_is_drawn_as_it_is() -> None:
    """Whoever decides what to catch reads the tree at the top of errors.py."""
    assert drawn() == {"CrosstreeError": None} | derived(CrosstreeError)


def test_every_error_is_offered_by_name() -> None:
    """Each class is in __all__, and nothing else is."""
    assert set(errors.__all__) == drawn().keys()


@pytest.mark.parametrize(
    ("error", "words"),
    [
        (SequenceGap("k7f3qz", 8, 11), "entries of k7f3qz go on at number 8, but 11 came: send k7f3qz-8 first"),
        (IdentityClash("k7f3qz-8"), "entry k7f3qz-8 is already known with other content"),
        (BadFrame("not JSON", 3), "line 3: not JSON"),
        (BadFrame("not JSON"), "not JSON"),
        (EntryNotUnderstood("newer", "k7f3qz-8 is of version 2"), "k7f3qz-8 is of version 2"),
    ],
)
def test_messages_name_the_thing_and_its_value(error: CrosstreeError, words: str) -> None:
    """Who reads the message knows which entry, which line, which number."""
    assert str(error).startswith(words)
