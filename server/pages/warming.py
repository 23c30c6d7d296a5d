"""What takes longest to work out is worked out before anybody asks: when the server starts, and after entries arrived.

The newest survey comes first. Nothing depends on it: a page that is asked for earlier works out what it needs by itself.

What is remembered is millions of objects without a cycle among them. Looking through them for cycles took half a second, in
whichever request it fell: after each step they are put where the collector does not look. They go as ever when nothing
refers to them.
"""

import gc
import threading
from collections.abc import Callable, Iterator
from functools import partial
from typing import Final

from server.pages.nursery import TILES_AT_ONCE, draw_positions
from server.pages.rendering import read_templates
from server.pages.surveys import draw_cards
from server.review.closing import count_late, read_closing
from server.review.coloured import MEASURES, look_over_nursery
from server.review.digests import read_digest
from server.review.discrepancies import list_discrepancies
from server.review.explaining import count_doubts
from server.review.questions import read_open_questions
from server.review.search import search
from server.review.surveys import name_surveys, sum_up_surveys
from server.store.record import RecordStore
from shared_schema.errors import CrosstreeError

__all__ = ["Warming"]

PAUSE_S: Final = 5.0
"""Between two looks whether something arrived: a tablet's many small messages are followed up together."""


class Warming:
    """A thread of its own, which works when something arrived and ends soon after it is told to."""

    def __init__(self, store: RecordStore) -> None:
        self._store, self._over = store, threading.Event()
        self._thread = threading.Thread(target=self._work, name="warming", daemon=True)

    def begin(self) -> None:
        """Begin."""
        self._thread.start()

    def end(self) -> None:
        """End after the step that is under way."""
        self._over.set()
        self._thread.join()

    def _work(self) -> None:
        read_templates()
        followed: object = None
        while not self._over.is_set():
            try:
                heads = self._store.heads()
                if heads != followed:
                    self.follow_up()
                    followed = heads
            except CrosstreeError:
                pass  # whoever asks for a page is told what is wrong; the next look may find it right again
            self._over.wait(PAUSE_S)

    def follow_up(self) -> None:
        """Work out what hangs on entries that arrived since, or everything. Raises StorageError."""
        for step in _steps(self._store):
            if self._over.is_set():
                return
            step()
            gc.collect()  # only what came since the last step: the rest is out of its sight
            gc.freeze()


def _steps(store: RecordStore) -> Iterator[Callable[[], object]]:
    """With a hundred thousand corals each takes a second or two at the most."""
    surveys = name_surveys(store)
    for newest in surveys[:1]:
        yield partial(sum_up_surveys, store, 0, 1)
        yield partial(draw_cards, store, newest, 1)
        yield partial(count_doubts, store, newest)
        yield partial(read_open_questions, store, newest)
        yield partial(read_digest, store, newest)
        yield partial(draw_positions, store, newest)
        for by in MEASURES:
            yield partial(look_over_nursery, store, newest, by, 0, TILES_AT_ONCE)
    yield partial(list_discrepancies, store)
    yield partial(search, store, "-")
    for number, survey in enumerate(surveys):
        yield partial(sum_up_surveys, store, number, 1)
        yield partial(count_doubts, store, survey)
        yield partial(draw_positions, store, survey)
        yield partial(_count_late, store, survey)


def _count_late(store: RecordStore, survey: str) -> None:
    closing = read_closing(store, survey)
    if closing is not None:
        count_late(store, survey, closing)
