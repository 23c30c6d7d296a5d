"""A program that taps on a dive's desk as fast as the disk takes it: python -m tests.mobile.dive_program FILE SEED."""

import random
import sys
from pathlib import Path

from mobile.desk import UNSEEN
from mobile.dive_desk import DiveDesk
from mobile.store import Store
from tests.mobile.nursery import TREE, recorder, tablet

__all__ = ["random_tap", "resumed"]

_STATUSES = ("alive", "bleached", "sick", "dead", "lost", UNSEEN)


def resumed(store: Store) -> DiveDesk:
    """The desk as a start shows it: at the page that was kept."""
    return DiveDesk(recorder(store), "T01", str(store.settings.get("page")).partition("/")[2])


def random_tap(desk: DiveDesk, chance: random.Random) -> None:
    """Any tap that the page offers, marks most of all."""
    path = chance.choice([position.path for position in desk.page.positions])
    status = chance.choice(_STATUSES)
    kind = chance.random()
    if kind < 0.5:
        desk.touch_place(path)
        desk.pick_status(status)
    elif kind < 0.65:
        desk.touch_arm(chance.randint(1, 2))
        desk.pick_status(status)
    elif kind < 0.75:
        desk.sign_off()
    elif kind < 0.9:
        desk.undo()
    else:
        desk.open_page(chance.choice([page.path for page in TREE.pages]))


def main(path: str, seed: str) -> None:
    """Tap, and after each tap say how many there were."""
    chance = random.Random(seed)
    with tablet(Path(path)) as store:
        desk = DiveDesk(recorder(store), "T01")
        for count in range(1, 100_000):
            random_tap(desk, chance)
            sys.stdout.write(f"{count} {desk.page_address}\n")
            sys.stdout.flush()


if __name__ == "__main__":
    main(*sys.argv[1:])
