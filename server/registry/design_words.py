"""A structure's design in a spreadsheet cell: a few words for the usual ones, parameters in braces for all others.

A number with a unit is a length; one without is a count. Lengths may be in different units: they are made millimetres,
exactly.
"""

import re
from collections.abc import Callable, Mapping
from decimal import Decimal
from typing import Any, Final, get_args

import yaml

from server.registry.problems import CellError
from shared_schema.designs import Design, Tree, Unit, parse_design, to_mm
from shared_schema.errors import DesignError

__all__ = ["COUNTS", "EXAMPLES", "read_design"]

EXAMPLES: Final = (
    "tree",
    "tree, 6 levels of 4 arms",
    "line, 20 places every 150 mm",
    "line, 20 m every 15 cm",
    "line, 8 m every 40 cm, upright",
    "table, 5 rows of 8 every 20 cm",
    "frame, 6 m by 4 m, mesh 55 mm, every 4",
    "block, 3 rows of 4 every 15 cm, height 40 cm",
)

COUNTS: Final = frozenset({"levels", "arms", "rows", "columns", "every", "first_mesh"}) | frozenset(
    {"per_stretch", "rows_per_page", "columns_per_page"}
)
"""The parameters that are whole numbers; all other numbers stay digits, so that 0.1 is 0.1."""

_LENGTH: Final = r"(\d+(?:\.\d+)?)\s*(mm|cm|m|in|ft)"
_COUNT: Final = r"([1-9]\d{0,4})"


def read_design(text: str) -> Design:
    """The design that a cell's words or parameters describe. Raises CellError, which says what can be written."""
    if text.startswith("{"):
        return _parse(_parameters(text))
    words = re.sub(r"[\s,]+", " ", text.casefold()).strip()
    if re.search(r"\d,\d", text):
        raise CellError("a comma within a number is not understood: write it with a point, as 0.5")
    for pattern, build in _PHRASES:
        match = pattern.fullmatch(words)
        if match is not None:
            return _parse(build(match))
    raise CellError(
        "no design that is known: write words such as "
        + "; ".join(EXAMPLES)
        + "; or the parameters in braces, as {design: line, unit: m, length: 20, spacing: 0.5}"
    )


def _parse(fields: Mapping[str, Any]) -> Design:
    try:
        return parse_design(fields)
    except DesignError as error:
        raise CellError(str(error)) from error


def _parameters(text: str) -> dict[str, Any]:
    """Parameters in braces, JSON or YAML, every number as its digits."""
    try:
        found = yaml.load(text, Loader=yaml.BaseLoader)  # noqa: S506  # it makes texts, lists and mappings, nothing else
    except yaml.YAMLError as error:
        raise CellError(f"the braces do not hold parameters: {error}".replace("\n", " ")) from error
    if not isinstance(found, dict):
        raise CellError("the braces do not hold parameters: write {design: line, unit: m, length: 20, spacing: 0.5}")
    return {str(name): _number(str(name), value) for name, value in found.items()}


def _number(name: str, value: Any) -> Any:
    return int(value) if name in COUNTS and isinstance(value, str) and re.fullmatch(r"[0-9]{1,9}", value) else value


def _mm(digits: str, unit: str) -> Decimal:
    known: tuple[Unit, ...] = get_args(Unit)
    return to_mm(Decimal(digits), next(each for each in known if each == unit))


def _tree(match: re.Match[str]) -> dict[str, Any]:
    defaults = Tree()
    return {
        "design": "tree",
        "levels": int(match[1] or defaults.levels),
        "arms": int(match[2] or defaults.arms),
    }


def _line_of_places(match: re.Match[str]) -> dict[str, Any]:
    spacing = _mm(match[2], match[3])
    rope = "vertical" if match[4] else "horizontal"
    length = spacing * (int(match[1]) - 1) or spacing / 2  # a line of one place still has a length
    return {"design": "line", "unit": "mm", "length": length, "spacing": spacing, "rope": rope}


def _line_of_length(match: re.Match[str]) -> dict[str, Any]:
    rope = "vertical" if match[5] else "horizontal"
    length, spacing = _mm(match[1], match[2]), _mm(match[3], match[4])
    return {"design": "line", "unit": "mm", "length": length, "spacing": spacing, "rope": rope}


def _flat(match: re.Match[str]) -> dict[str, Any]:
    fields: dict[str, Any] = {"design": match[1], "unit": "mm", "rows": int(match[2]), "columns": int(match[3])}
    fields["spacing"] = _mm(match[4], match[5])
    if match[6]:
        fields["height"] = _mm(match[6], match[7])
    return fields


def _frame(match: re.Match[str]) -> dict[str, Any]:
    return {
        "design": "frame",
        "unit": "mm",
        "length": _mm(match[1], match[2]),
        "width": _mm(match[3], match[4]),
        "mesh": _mm(match[5], match[6]),
        "every": int(match[7] or 1),
    }


_PHRASES: Final[tuple[tuple[re.Pattern[str], Callable[[re.Match[str]], dict[str, Any]]], ...]] = (
    (re.compile(rf"tree(?: {_COUNT} levels?)?(?:(?: of)? {_COUNT} arms?)?"), _tree),
    (re.compile(rf"line {_COUNT}(?: places?| corals?)? every {_LENGTH}( upright| vertical)?"), _line_of_places),
    (re.compile(rf"line {_LENGTH} every {_LENGTH}( upright| vertical)?"), _line_of_length),
    (re.compile(rf"(table) {_COUNT}(?: rows?)? (?:of|by) {_COUNT} every {_LENGTH}()()"), _flat),
    (re.compile(rf"(block) {_COUNT}(?: rows?)? (?:of|by) {_COUNT} every {_LENGTH} height {_LENGTH}"), _flat),
    (re.compile(rf"frame {_LENGTH} by {_LENGTH} mesh {_LENGTH}(?: every {_COUNT})?"), _frame),
)
