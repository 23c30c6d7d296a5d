"""What waits on a structure, in a line each."""

from mobile.screens.news_words import status_word
from mobile.tasks import SORTS, StructureTasks, Task, TaskSort
from mobile.widgets.list_picker import Choice
from mobile.widgets.look import LOOK

__all__ = ["task_choice", "task_counts"]


def task_counts(tasks: StructureTasks) -> str:
    """How many of each sort: `3 to look at again, 1 open question`."""
    return ", ".join(_count(sort, tasks.count(sort)) for sort in SORTS if tasks.count(sort))


def task_choice(key: str, task: Task) -> Choice:
    """The line of a task: where, what for; and which survey said so."""
    where = task.where if not task.fragment else f"{task.where}  {task.fragment}"
    return Choice(key, f"{where}: {_what(task)}", task.survey)


def _count(sort: TaskSort, number: int) -> str:
    count = LOOK.words.count
    return {
        "look_again": count("{n} to look at again", "{n} to look at again", number),
        "question": count("{n} open question", "{n} open questions", number),
        "not_reached": count("{n} not reached", "{n} not reached", number),
        "tie": count("{n} tie", "{n} ties", number),
        "tag": count("{n} tag", "{n} tags", number),
        "overgrown": count("{n} overgrown", "{n} overgrown", number),
        "cleaning": LOOK.words.text("cleaning is due"),
    }[sort]


def _what(task: Task) -> str:
    _, count = LOOK.words.text, LOOK.words.count
    if task.sort == "look_again":
        return _("was {status}").format(status=status_word(task.said))
    if task.sort == "cleaning":
        return count("last cleaned {n} day ago", "last cleaned {n} days ago", task.days)
    if task.sort == "not_reached":
        return _("not reached") + (f" ({task.said})" if task.said else "")
    return {
        "question": _("records disagree"),
        "tie": _("tie missing") if task.said == "missing" else _("tie loose"),
        "tag": _("tag missing") if task.said == "missing" else _("tag unreadable"),
        "overgrown": _("overgrown"),
    }[task.sort]
