"""What is done with a coral: it is moved, cut, replaced, brought to the reef, found on the sand. Each asks as little as it can."""

from collections.abc import Callable

from kivy.uix.boxlayout import BoxLayout

from mobile.chart import Hung
from mobile.desk import Carry
from mobile.dive_desk import Deed, DiveDesk
from mobile.fact_words import value_text
from mobile.missing import find_coral, lost_from
from mobile.palette import CONDITIONS
from mobile.screens.asking import Asking
from mobile.sites import known_sites, remember_site, site_name
from mobile.widgets.keyboard import TextPad
from mobile.widgets.list_picker import Choice
from mobile.widgets.look import LOOK
from mobile.widgets.status_bar import StatusBar

__all__ = ["PlaceDeeds", "coral_text"]

_ELSEWHERE = ("ground", "holding", "removed")


def coral_text(hung: Hung) -> str:
    """A coral as people call it: by its tag, else by its name."""
    return str(hung.standing.value("tag") or hung.fragment)


class PlaceDeeds:
    """Asks what a deed needs, then has it recorded. `act` does something with the desk, shows the page, and tells trouble."""

    def __init__(self, asking: Asking, act: Callable[[Callable[[DiveDesk], object]], None], say: Callable[[str], None]) -> None:
        self._asking, self._act, self._say = asking, act, say

    def move(self, desk: DiveDesk) -> None:
        """To a place that is tapped next, or to none."""
        _, hung = LOOK.words.text, self._hung(desk)
        choices = [Choice("tap", _("Tap its new place"))]
        choices += [Choice(place, value_text(LOOK.words, "place", place)) for place in _ELSEWHERE]
        carry, where = Carry("move", hung.fragment), desk.selection[0]

        def then(key: str) -> None:
            if key == "tap":
                self._act(lambda desk: desk.take_up(carry))
            else:
                self._record(lambda recorder: recorder.move(where, key, fragment=hung.fragment))

        self._asking.choose(_("Move {coral}").format(coral=coral_text(hung)), choices, then)

    def plant(self, desk: DiveDesk, *, replant: bool = False) -> None:
        """A new coral hangs here: of a mother that is tapped, or named, or of none that is known."""
        _, where = LOOK.words.text, desk.selection[0]

        def then(key: str) -> None:
            if key == "tap":
                self._act(lambda desk: desk.take_up(Carry("mother", where=where, replant=replant)))
            elif key == "name":
                self._ask_coral(desk, lambda mother: self._cut(where, mother, replant=replant))
            elif replant:
                self._record(lambda recorder: recorder.replant(where))
            else:
                self._record(lambda recorder: recorder.plant(where))

        choices = [
            Choice("tap", _("Tap its mother on the map")),
            Choice("name", _("Tag or name of its mother")),
            Choice("unknown", _("Its mother is not known")),
        ]
        self._asking.choose(_("New coral at {place}").format(place=where), choices, then)

    def cut(self, desk: DiveDesk) -> None:
        """Pieces of this one hang wherever is tapped next."""
        carry = Carry("cut", self._hung(desk).fragment)
        self._act(lambda desk: desk.take_up(carry))

    def outplant(self, desk: DiveDesk) -> None:
        """To a site on the reef."""
        _, hung, where = LOOK.words.text, self._hung(desk), desk.selection[0]

        def go(site: str) -> None:
            def deed(desk: DiveDesk) -> None:
                name = site_name(site)
                desk.record(lambda recorder: recorder.outplant(where, name, fragment=hung.fragment))
                remember_site(desk.store, name)

            self._act(deed)

        def then(key: str) -> None:
            if key == "":
                self._asking.ask(_("Name of the site"), TextPad(most=48), go)
            else:
                go(key)

        choices = [Choice("", _("Another site")), *(Choice(site, site) for site in known_sites(desk.store))]
        self._asking.choose(_("{coral} to the reef").format(coral=coral_text(hung)), choices, then)

    def found(self, desk: DiveDesk) -> None:
        """A coral lies on the sand: which one, how is it, and where does it hang now?"""
        _ = LOOK.words.text
        lost = {hung.fragment: hung for hung in lost_from(desk.store, desk.open.name)}
        choices = [Choice("", _("By its tag or name"))]
        choices += [Choice(name, coral_text(hung), hung.place or "") for name, hung in lost.items()]

        def then(key: str) -> None:
            if key == "":
                self._ask_coral(desk, self._ask_condition)
            else:
                self._ask_condition(lost[key])

        self._asking.choose(_("Which coral was found?"), choices, then)

    def _ask_condition(self, hung: Hung) -> None:
        _ = LOOK.words.text
        bar = StatusBar(statuses=[status for status in CONDITIONS if status != "lost"])
        bar.bind(on_status=lambda _bar, status: self._asking.answer(lambda: self._ask_place(hung, status)))
        body = BoxLayout(padding=(0, LOOK.ruler.px(30)))
        body.add_widget(bar)
        self._asking.show(_("How is {coral}?").format(coral=coral_text(hung)), body)

    def _ask_place(self, hung: Hung, status: str) -> None:
        _ = LOOK.words.text

        def then(key: str) -> None:
            def deed(desk: DiveDesk) -> None:
                desk.record(lambda recorder: recorder.found_on_ground(hung.fragment, status=status))
                if key == "tap":
                    desk.take_up(Carry("move", hung.fragment))

            self._act(deed)

        choices = [Choice("tap", _("It was hung: tap its place")), Choice("ground", _("It was left on the sand"))]
        self._asking.choose(_("Where is {coral} now?").format(coral=coral_text(hung)), choices, then)

    def _ask_coral(self, desk: DiveDesk, then: Callable[[Hung], None]) -> None:
        """Have a tag or a name typed, and choose where it is that of several."""
        _ = LOOK.words.text

        def typed(text: str) -> None:
            found = {hung.fragment: hung for hung in find_coral(desk.store, text)}
            if len(found) == 1:
                then(next(iter(found.values())))
            elif found:
                choices = [Choice(name, coral_text(hung), hung.place or "") for name, hung in found.items()]
                self._asking.choose(_("Which coral is meant?"), choices, lambda name: then(found[name]))
            else:
                self._say(_("No coral here has the tag or the name {text}.").format(text=text))

        self._asking.ask(_("Tag or name"), TextPad(most=48), typed)

    def _cut(self, where: str, mother: Hung, *, replant: bool) -> None:
        self._record(lambda recorder: recorder.cut(where, f"fragment:{mother.fragment}", replant=replant))

    def _record(self, deed: Deed) -> None:
        self._act(lambda desk: desk.record(deed))

    def _hung(self, desk: DiveDesk) -> Hung:
        return desk.open.hanging(desk.open.path(desk.selection[0]))[0]
