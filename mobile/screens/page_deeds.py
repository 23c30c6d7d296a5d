"""What is said of a page or a structure: upkeep, that nobody reached it, and why something unlikely is so."""

from collections.abc import Callable

from mobile.dive_desk import DiveDesk
from mobile.screens.asking import Asking
from mobile.screens.doubt_words import doubt_text
from mobile.screens.scope_panel import ScopePanel
from mobile.upkeep import WORKS, UpkeepDesk
from mobile.widgets.keyboard import TextPad
from mobile.widgets.list_picker import Choice
from mobile.widgets.look import LOOK
from shared_schema.ready_words import EXPLANATIONS, NOT_REACHED, PAGE_NOTES

__all__ = ["PageDeeds"]


class PageDeeds:
    """Asks what a deed needs, then has it recorded. `act` does something with the desk, shows the page, and tells trouble."""

    def __init__(self, asking: Asking, act: Callable[[Callable[[DiveDesk], object]], None]) -> None:
        self._asking, self._act = asking, act

    def upkeep(self, desk: DiveDesk) -> None:
        """Works are ticked off one by one, each at once on disk; a second tap takes one's own tick away."""
        _ = LOOK.words.text
        panel = ScopePanel(options=[Choice(work, _(word)) for work, word in WORKS.items()])

        def show(scope: str) -> None:
            now = UpkeepDesk(desk, scope)
            panel.scopes = [Choice(one, desk.open.path(one)) for one in now.scopes]
            panel.scope, panel.chosen = scope, sorted(now.done)

        def tick(work: str) -> None:
            self._act(lambda desk: UpkeepDesk(desk, panel.scope).toggle(work))
            show(panel.scope)

        panel.bind(on_pick_scope=lambda _panel, scope: show(scope), on_pick_option=lambda _panel, work: tick(work))
        show(desk.selection[0] if len(desk.selection) == 1 else desk.page_address)
        self._asking.show(_("Upkeep"), panel, closes=_("Done"))

    def note(self, desk: DiveDesk) -> None:
        """Words about the page, or about the whole structure."""
        _ = LOOK.words.text
        ready = [Choice(text, _(text)) for text in PAGE_NOTES]
        self._ask_in_scope(desk, _("Note"), ready, _("Write"), _note)

    def not_reached(self, desk: DiveDesk) -> None:
        """Why nobody looked at the page, or at the whole structure."""
        _ = LOOK.words.text
        ready = [Choice(reason, _(reason)) for reason in NOT_REACHED]
        self._ask_in_scope(
            desk, _("Not reached"), ready, _("Another reason"), lambda desk, where, text: desk.not_reached(where, text or None)
        )

    def _ask_in_scope(
        self, desk: DiveDesk, title: str, ready: list[Choice], other: str, deed: Callable[[DiveDesk, str, str], object]
    ) -> None:
        """Ask for words about the page or the whole structure: some that are ready, or others, typed."""
        _ = LOOK.words.text
        whole = _("All of {name}").format(name=desk.open.name)
        scopes = [Choice(desk.page_address, desk.page_address), Choice(desk.open.name, whole)]
        panel = ScopePanel(options=[*ready, Choice("", other)], scopes=scopes, scope=desk.page_address)

        def go(text: str) -> None:
            where = panel.scope
            self._asking.close()
            self._act(lambda desk: deed(desk, where, text.strip()))

        def tap(key: str) -> None:
            if key:
                go(key)
            else:
                self._asking.ask(other, TextPad(most=400), go)

        panel.bind(on_pick_scope=lambda panel, scope: setattr(panel, "scope", scope), on_pick_option=lambda _panel, key: tap(key))
        self._asking.show(title, panel)

    def explain(self, desk: DiveDesk, page: str) -> None:
        """What is unlikely about a page that was signed off: a note explains it; it may wait."""
        _ = LOOK.words.text
        doubts = desk.recorder.doubts.on(page)
        panel = ScopePanel(
            about="\n".join(doubt_text(doubt) for doubt in doubts[:3]) + (" …" if len(doubts) > 3 else ""),
            options=[*(Choice(text, _(text)) for text in EXPLANATIONS), Choice("write", _("Write"))],
        )

        def note(text: str) -> None:
            self._asking.close()
            if text.strip():
                self._act(lambda desk: desk.record(lambda recorder: recorder.explain(page, text.strip())))

        def tap(key: str) -> None:
            if key == "write":
                self._asking.ask(_("Note"), TextPad(most=400), note)
            else:
                note(key)

        panel.bind(on_pick_option=lambda _panel, key: tap(key))
        self._asking.show(_("Unlikely on {page}: a note, please").format(page=page), panel, closes=_("Later"))


def _note(desk: DiveDesk, where: str, text: str) -> None:
    if text:
        desk.record(lambda recorder: recorder.note(where, text))
