"""A screen that is built when it is first shown: a start builds only what it shows."""

from collections.abc import Callable, Collection
from functools import partial
from typing import Any

from kivy.uix.screenmanager import Screen

from mobile.screens.rules import load_rules_of

__all__ = ["LateScreen"]


class LateScreen(Screen):
    """Its rules, in the kv file of its module's name, are loaded and applied by `make`, which the shell calls before it shows it.

    Until then it has properties and nothing in it; a method that asks for its `ids` makes it first.
    """

    def __init__(self, **kwargs: Any) -> None:
        self._rules: Callable[..., None] | None = None
        super().__init__(**kwargs)

    def apply_class_lang_rules(
        self, root: Any = None, ignored_consts: Collection[str] = frozenset(), rule_children: list[Any] | None = None
    ) -> None:
        """Put it off; Kivy calls this when a widget is made."""
        del rule_children
        self._rules = partial(super().apply_class_lang_rules, root, ignored_consts)

    def make(self) -> None:
        """Build what is in it; once."""
        rules, self._rules = self._rules, None
        if rules is not None:
            load_rules_of(type(self).__module__.rpartition(".")[2])
            children: list[Any] = []
            rules(rule_children=children)
            for child in children:
                child.dispatch("on_kv_post", self)
            self.made()

    def made(self) -> None:
        """It is built now. The default: nothing."""
