"""The table beside the picture of every position: a row for each structure, kept as it was written until its counts change.

It is written without a template, which takes three times as long for ten thousand cells.
"""

from collections.abc import Callable, Mapping, Sequence
from typing import Final, NamedTuple, TypeAlias

from markupsafe import Markup, escape

from server.pages.addresses import to_structure
from server.pages.panorama import Panorama
from server.pages.wording import gettext, language
from server.review.remembering import Shelf, remembered
from server.review.touched import Touched
from server.store.engine import reading
from server.store.record import RecordStore

__all__ = ["Counted", "write_rows"]

Counted: TypeAlias = tuple[str, str, Mapping[str, int]]
"""(location, structure, condition -> how many)."""

_ROWS: Final = Shelf("position rows", most=32)


class _Row(NamedTuple):
    counted: Counted
    written: Markup


class _Table(NamedTuple):
    """Rows by structure, and the conditions that have a column in them."""

    columns: tuple[str, ...]
    rows: Mapping[str, _Row]


def write_rows(store: RecordStore, survey: str, drawn: Panorama, counted: Sequence[Counted]) -> Markup:
    """The rows of the table in the reader's language, with a cell for each layer that is drawn."""
    columns = tuple(layer.look.key for layer in drawn.layers)

    def write(before: Mapping[str, _Row]) -> _Table:
        row = _writer(survey, drawn)
        rows = {}
        for one in counted:
            held = before.get(one[1])
            rows[one[1]] = held if held is not None and held.counted == one else _Row(one, row(one))
        return _Table(columns, rows)

    def mend(held: _Table, _: Touched) -> _Table:
        return write(held.rows if held.columns == columns else {})

    with reading(store.engine) as connection:
        key = f"{survey} {language().code}"
        table = remembered(connection, store.nursery, _ROWS, key, lambda: write({}), mend=mend, until="", beside=(columns, counted))
    return Markup("").join(one.written for one in table.rows.values())


def _writer(survey: str, drawn: Panorama) -> Callable[[Counted], Markup]:
    """What writes the row of a structure."""
    layers = [
        (
            layer.look.key,
            Markup('<td class="number" data-of="{}"><a href="').format(layer.look.word),
            Markup('?status={}#table">').format(layer.look.key),
            Markup('<td class="number none" data-of="{}">·</td>').format(layer.look.word),
        )
        for layer in drawn.layers
    ]
    begin = Markup('<tr><td data-of="{}">').format(gettext("Location"))

    def write(counted: Counted) -> Markup:
        location, structure, found = counted
        where = escape(to_structure(survey, structure))
        head = f'{begin}{escape(location or "–")}</td><th scope="row"><a href="{where}">{escape(structure)}</a></th>'
        cells = (f"{some}{where}{here}{many}</a></td>" if (many := found.get(key)) else none for key, some, here, none in layers)
        return Markup(f"{head}{''.join(cells)}</tr>")  # noqa: S704  # numbers, and what was escaped above

    return write
