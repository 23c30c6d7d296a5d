"""How everything looks now: theme, sizes, hand and words; whatever is drawn follows when they change."""

from collections.abc import Callable, Collection
from functools import partial
from typing import Any, Final
from weakref import WeakMethod

from kivy.event import EventDispatcher
from kivy.lang import global_idmap
from kivy.metrics import Metrics
from kivy.properties import BooleanProperty, NumericProperty, ObjectProperty

from mobile.palette import CONDITIONS, NOT_LOOKED_AT, Condition
from mobile.preferences import Preferences
from mobile.ruler import Ruler
from mobile.theme import BRIGHT, THEMES
from mobile.words import Words, read_words

__all__ = ["LOOK", "Look", "Tongue", "offer_to_rules"]


class Tongue(EventDispatcher):
    """Translates in rules: `text: _("Undo")` is worked out anew when the language changes.

    Rules watch a property of the name `_` on whatever they know as `_`.
    """

    _ = NumericProperty(0)
    words = ObjectProperty(read_words("en"))

    def __call__(self, english: str) -> str:
        """A text in the language in force."""
        return str(self.words.text(english))

    def on_words(self, *_changed: object) -> None:
        """The language changed: rules that say `_( )` look again."""
        self.property("_").dispatch(self)


class Look(EventDispatcher):
    """The theme, the ruler, the hand and whether the last visit shows faintly, as rules and widgets watch them."""

    theme = ObjectProperty(BRIGHT, rebind=True)
    ruler = ObjectProperty(Ruler(), rebind=True)
    left_handed = BooleanProperty(False)
    faint = BooleanProperty(True)

    def __init__(self, **kwargs: Any) -> None:
        super().__init__(**kwargs)
        self.tongue = Tongue()
        self._factor = 1.0
        self._followers: dict[WeakMethod[Callable[[], None]], tuple[str, ...]] = {}
        self._dead: list[WeakMethod[Callable[[], None]]] = []
        for name in ("theme", "ruler", "left_handed", "faint"):
            self.fbind(name, partial(self._tell, name))
        self.tongue.fbind("words", partial(self._tell, "words"))
        Metrics.bind(dpi=self.measure, density=self.measure, fontscale=self.measure)

    @property
    def words(self) -> Words:
        """The words of the language in force."""
        words: Words = self.tongue.words
        return words

    def take(self, preferences: Preferences, words: Words | None = None) -> None:
        """Look like this from now on; `words` where they are not those of the language."""
        self.theme = THEMES[preferences.theme]
        self.left_handed = preferences.left_handed
        self.faint = preferences.faint
        self._factor = preferences.factor
        self.measure()
        if words is not None or self.words.language != preferences.language:
            self.tongue.words = words or read_words(preferences.language)

    def follow(self, react: Callable[[], None], *names: str) -> None:
        """Call a widget's method, as long as the widget lives, when one of the named changes; "words" is the language.

        Kivy's `bind` keeps what died and looks through all of it at each call: a day of opened sheets made it slow.
        """
        self._bury()
        self._followers[WeakMethod(react, self._dead.append)] = names

    @property
    def followers(self) -> Collection[Callable[[], None]]:
        """Who is told."""
        self._bury()
        return [react for follower in list(self._followers) if (react := follower()) is not None]

    def _bury(self) -> None:
        """Take out who died. Not when they die: that may be while the others are being told."""
        while self._dead:
            self._followers.pop(self._dead.pop(), None)

    def _tell(self, name: str, *_changed: object) -> None:
        self._bury()
        for follower, names in list(self._followers.items()):
            react = follower() if name in names else None
            if react is not None:
                react()

    def measure(self, *_changed: object) -> None:
        """Take sizes from what the platform reports, put right by the user's own factor."""
        self.ruler = Ruler(float(Metrics.dpi), float(Metrics.density), float(Metrics.fontscale), self._factor)

    def letter(self, condition: Condition) -> str:
        """A condition's letter in the language in force."""
        return self.words.letter(condition.letter)

    def condition(self, status: str | None) -> Condition:
        """How a status is shown; that of nobody's having looked, for None."""
        return NOT_LOOKED_AT if status is None else CONDITIONS[status]


LOOK: Final = Look()
"""A process has one screen, and so one look."""


def offer_to_rules() -> None:
    """Let rules say `look` and `_`."""
    global_idmap["look"] = LOOK
    global_idmap["_"] = LOOK.tongue
