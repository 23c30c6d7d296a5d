"""The list of what to do on this dive, structure by structure."""

from collections.abc import Callable
from typing import Final

from kivy.properties import BooleanProperty, ListProperty, NumericProperty, ObjectProperty, StringProperty

from mobile.day import Day
from mobile.errands import Ended, Errand, Errands
from mobile.screens.asking import Asking
from mobile.screens.live import LiveScreen
from mobile.screens.task_words import task_choice, task_counts
from mobile.screens.troubles import trouble_text
from mobile.tasks import StructureTasks, Task, TaskSort, tasks_of
from mobile.widgets.list_picker import Choice, ListPicker

__all__ = ["TasksScreen"]

_FILTERS: Final[dict[str, tuple[TaskSort, ...]]] = {
    "all": (),
    "look_again": ("look_again",),
    "question": ("question",),
    "not_reached": ("not_reached",),
    "upkeep": ("tie", "tag", "overgrown", "cleaning"),
}


class TasksScreen(LiveScreen):
    """Shows what waits on the loaded structures.

    `clerk` works it out; `only` says which sorts are shown, and `waiting` how many tasks there are in all, -1 before anybody
    looked. `open_structure(structure, page)` is called when one was chosen. Event: `on_leave_tasks`.
    """

    day: Day = ObjectProperty(None)
    clerk: Errands = ObjectProperty(None)
    asking: Asking = ObjectProperty(None)
    open_structure: Callable[[str, str], None] = ObjectProperty(None)
    only = StringProperty("all")
    choices = ListProperty()
    busy = BooleanProperty(False)
    trouble = StringProperty("")
    waiting = NumericProperty(-1)

    def __init__(self, **kwargs: object) -> None:
        self.register_event_type("on_leave_tasks")
        self.found: tuple[StructureTasks, ...] = ()
        super().__init__(**kwargs)
        for name in ("only", "busy"):
            self.fbind(name, self.refresh)

    def on_leave_tasks(self) -> None:
        """The default: nothing."""

    def refresh(self, *_changed: object) -> None:
        """Show what was found, as far as it is of the sorts that are shown."""
        names = {one.id: one.name for one in self.day.store.catalogue.structures()} if self.found else {}
        self.choices = [
            Choice(one.structure, _named(one.structure, names), task_counts(shown))
            for one in self.found
            if (shown := StructureTasks(one.structure, self._of(one))).tasks
        ]

    def look_over(self) -> None:
        """Work it out anew, without holding up the screen."""
        today = self.day.today
        on = self.day.clock().date()

        def work(errand: Errand) -> tuple[StructureTasks, ...]:
            found = []
            for structure in today.structures:
                errand.check()
                found.append(tasks_of(errand.store, structure, today.survey, on))
            return tuple(found)

        self.busy = self.clerk.start(work, self._ended) or self.busy

    def pick(self, structure: str) -> None:
        """List what waits on a structure; from there it goes to the page."""
        tasks = next((self._of(one) for one in self.found if one.structure == structure), ())
        by_key = {str(number): task for number, task in enumerate(tasks)}
        picker = ListPicker(choices=[task_choice(key, task) for key, task in by_key.items()])
        picker.bind(on_pick=lambda _picker, key: self.asking.answer(lambda: self.open_structure(structure, by_key[key].page)))
        self.asking.show(structure, picker)

    def _of(self, one: StructureTasks) -> tuple[Task, ...]:
        sorts = _FILTERS[self.only]
        return tuple(task for task in one.tasks if not sorts or task.sort in sorts)

    def _ended(self, end: Ended[tuple[StructureTasks, ...]]) -> None:
        self.trouble = "" if end.trouble is None else trouble_text(end.trouble)
        self.found = end.result or ()
        self.waiting = sum(len(one.tasks) for one in self.found)
        self.busy = False
        self.refresh()


def _named(structure: str, names: dict[str, str]) -> str:
    name = names.get(structure, structure)
    return structure if name == structure else f"{structure}  {name}"
