"""Pages to look at: a common tree in the middle of a survey, and other structures."""

from mobile.desk import PracticeDesk
from shared_schema.designs import parse_design

__all__ = ["crowded_table", "long_line", "tree_in_work", "untouched_tree"]


def untouched_tree() -> PracticeDesk:
    """A common tree that nobody marked yet on this dive."""
    return PracticeDesk("T07", parse_design({"design": "tree"}))


def tree_in_work() -> PracticeDesk:
    """A common tree: level 1 and 2 signed off, level 3 with every status on it, and what the last visit found."""
    before = {f"{level}.{arm}.{hole}": "alive" for level in range(1, 6) for arm in range(1, 5) for hole in range(1, 6)}
    before |= {"3.1.2": "fading", "3.2.2": "bleached", "3.2.4": "preyed_on", "3.3.1": "sick", "3.3.3": "dead", "3.4.4": "lost"}
    before |= {"3.4.1": "could_not_tell"}
    desk = PracticeDesk("T07", parse_design({"design": "tree"}), before, frozenset({"3.4.5"}), frozenset({"3.2.4", "5.1.1"}))
    desk.choose_way("status_first")
    desk.sign_off()
    desk.pick_status("bleached")
    desk.touch_place("2.1.1")
    desk.sign_off()
    for path, status in (
        ("3.1.1", "alive"),
        ("3.1.3", "fading"),
        ("3.1.4", "bleached"),
        ("3.2.1", "preyed_on"),
        ("3.2.3", "sick"),
        ("3.3.2", "dead"),
        ("3.3.5", "lost"),
        ("3.4.2", "could_not_tell"),
        ("3.2.4", "bleached"),
    ):
        desk.pick_status(status)
        desk.touch_place(path)
    desk.choose_way("place_first")
    desk.touch_place("3.2.5")
    return desk


def long_line() -> PracticeDesk:
    """A line of four stretches of twenty."""
    fields = {"design": "line", "unit": "m", "length": "39.5", "spacing": "0.5", "per_stretch": 20}
    return PracticeDesk("L1", parse_design(fields), {"1.3": "fading"})


def crowded_table() -> PracticeDesk:
    """A table with more on a page than fits at once, and more pages than the map shows."""
    fields = {"design": "table", "unit": "cm", "rows": 60, "columns": 20, "spacing": "10", "rows_per_page": 4}
    return PracticeDesk("B1", parse_design(fields))
