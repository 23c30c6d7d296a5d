"""Nursery files in YAML: a list for each sort, each item with the same fields as a row of a table."""

import json
from collections.abc import Iterator
from typing import Any

import yaml

from server.registry.columns import ID, SORTS, Sort, plain_heading
from server.registry.problems import Problems
from server.registry.sources import RawCell, RawRow, Source, clean, decode, find_column, sort_named

__all__ = ["read_yaml"]

# The C loader where there is one: ten times as fast, and a nursery is large. Texts stay as written: no is no `false`,
# and a day is no date before the reader of the column has looked at it.
_Loader: Any = getattr(yaml, "CBaseLoader", yaml.BaseLoader)


def read_yaml(source: Source, problems: Problems) -> Iterator[RawRow]:
    """The rows of a YAML file: a mapping of structures, genets, people, surveys, fragments to lists."""
    text = decode(source, problems)
    if text is None:
        return
    try:
        root = yaml.compose(text, Loader=_Loader)
    except yaml.YAMLError as error:
        mark = getattr(error, "problem_mark", None)
        line = mark.line + 1 if mark is not None else 0
        problems.add(source.name, line, f"no YAML: {getattr(error, 'problem', None) or error}")
        return
    if not isinstance(root, yaml.MappingNode):
        problems.add(
            source.name, 1, f"no lists here: begin with {' or '.join(sort.several for sort in SORTS.values())} and a colon"
        )
        return
    for key, value in root.value:
        sort = sort_named(key.value) if isinstance(key, yaml.ScalarNode) else None
        if sort is None:
            words = " or ".join(each.several for each in SORTS.values())
            problems.add(source.name, _line(key), f"no such list: write {words}", column="list", value=str(key.value))
        elif not isinstance(value, yaml.SequenceNode):
            problems.add(source.name, _line(value), "write a list, each item after a dash", column=key.value)
        else:
            for item in value.value:
                yield from _row(source, sort, item, problems)


def _row(source: Source, sort: Sort, item: Any, problems: Problems) -> Iterator[RawRow]:
    if not isinstance(item, yaml.MappingNode):
        problems.add(source.name, _line(item), f"write each {sort.name} as fields with a colon, as `{ID}: ...`")
        return
    name = RawCell("", _line(item), ID)
    found: dict[str, RawCell] = {}
    for key, value in item.value:
        heading = plain_heading(key.value) if isinstance(key, yaml.ScalarNode) else ""
        cell = RawCell(_text(value), _line(value), str(key.value))
        if heading in (ID, sort.name) and heading not in sort.columns:
            name = cell
            continue
        column = find_column(sort, heading)
        if column is None:
            problems.add(source.name, cell.line, f"a {sort.name} has no such field", column=cell.heading, value=cell.text)
        elif column.heading in found:
            problems.add(source.name, cell.line, "given twice", column=cell.heading, value=cell.text)
        elif cell.text:
            found[column.heading] = cell
    yield RawRow(source.name, _line(item), sort, name, found)


def _line(node: Any) -> int:
    return int(node.start_mark.line) + 1


def _text(node: Any) -> str:
    """A scalar as written; a list of names with blanks between; parameters as JSON, for the reader of designs."""
    if isinstance(node, yaml.ScalarNode):
        return "" if not node.style and node.value in ("~", "null") else clean(node.value)
    plain = _plain(node, 0)
    if isinstance(plain, list) and all(isinstance(each, str) for each in plain):
        return " ".join(plain)
    return json.dumps(plain, ensure_ascii=False)


def _plain(node: Any, depth: int) -> Any:
    if isinstance(node, yaml.ScalarNode) or depth > 2:
        return clean(str(node.value)[:200])
    if isinstance(node, yaml.SequenceNode):
        return [_plain(each, depth + 1) for each in node.value]
    return {str(key.value): _plain(value, depth + 1) for key, value in node.value}
