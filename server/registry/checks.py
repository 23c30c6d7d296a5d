"""Whether rows fit each other and the record. A row that does not is a problem of its line; nothing is guessed."""

from collections.abc import Iterable, Mapping

from server.registry.known import Known
from server.registry.places import check_once, check_room
from server.registry.problems import Problems
from server.registry.rows import Registry, Row
from shared_schema.designs import Design, parse_design
from shared_schema.ids import parse_address, structure_of_place

__all__ = ["check_rows", "index_rows"]


def index_rows(rows: Iterable[Row], problems: Problems) -> Registry:
    """The rows by sort and name. A name that comes twice is a problem of its second line."""
    found: dict[str, dict[str, Row]] = {sort: {} for sort in ("structure", "genet", "person", "survey", "fragment")}
    for row in rows:
        first = found[row.sort.name].setdefault(row.name, row)
        if first is not row:
            row.blame(problems, row.sort.name, f"this {row.sort.name} is on {first.where} already: keep one of the two")
    return found


def check_rows(rows: Registry, known: Known, problems: Problems) -> None:
    """Hold every row against the others and the record."""
    designs = dict(known.designs)
    unsure: set[str] = set()
    for name, row in rows["structure"].items():
        if row.sound:
            designs[name] = parse_design(row.fields["design"])
        else:
            unsure.add(name)
    _check_surveys(rows, known, problems)
    for row in rows["fragment"].values():
        _check_position(row, designs, unsure, problems)
        _check_descent(row, rows, known, problems)
    _check_circles(rows["fragment"], known, problems)
    check_once(rows["fragment"], known, problems)
    check_room(rows, known, designs, problems)


def _check_surveys(rows: Registry, known: Known, problems: Problems) -> None:
    for row in rows["survey"].values():
        if not row.sound:
            continue
        if row.fields["closes"] < row.fields["opens"]:
            row.blame(problems, "closes", f"before it opens ({row.fields['opens']}): exchange the two days")
        for structure in row.fields.get("structures", ()):
            if structure not in rows["structure"] and not known.holds("structure", structure):
                row.blame(problems, "structures", f"there is no structure {structure}, neither here nor in the record")


def _check_position(row: Row, designs: Mapping[str, Design], unsure: set[str], problems: Problems) -> None:
    place = row.fields.get("place", "")
    structure = structure_of_place(place)
    if structure is None or structure in unsure:
        return
    design = designs.get(structure)
    if design is None:
        row.blame(problems, "position", f"there is no structure {structure}, neither here nor in the record")
        return
    path = parse_address(place).path
    try:
        design.position(path)
    except LookupError:
        first, last = design.positions[0].path, design.positions[-1].path
        row.blame(problems, "position", f"{structure} has no position {path}: its positions run from {first} to {last}")


def _check_descent(row: Row, rows: Registry, known: Known, problems: Problems) -> None:
    genet, parent = row.fields.get("genet"), row.fields.get("parent")
    if genet is not None and genet not in rows["genet"] and not known.holds("genet", genet):
        row.blame(problems, "genet", f"there is no genet {genet}, neither here nor in the record")
    if parent is None:
        if not {"genet", "parent"} & row.raw.cells.keys() and row.name not in known.fragments:
            row.blame(problems, "genet", "empty: a fragment without a parent needs its genet")
        return
    mother, held = rows["fragment"].get(parent), known.fragments.get(parent)
    if mother is None and held is None:
        row.blame(problems, "parent", f"there is no fragment {parent}, neither here nor in the record")
        return
    theirs = mother.fields.get("genet") if mother is not None else None
    theirs = theirs or (held.genet if held is not None else None)
    if genet is not None and theirs is not None and genet != theirs:
        where = f" ({mother.where})" if mother is not None else " (in the record)"
        row.blame(problems, "genet", f"its parent {parent}{where} is of genet {theirs}, and a cutting is of its parent's genet")


def _check_circles(fragments: Mapping[str, Row], known: Known, problems: Problems) -> None:
    parents = {name: held.parent for name, held in known.fragments.items()}
    parents |= {name: row.fields["parent"] for name, row in fragments.items() if "parent" in row.fields}
    done: set[str] = set()
    for start in fragments:
        trail: dict[str, None] = {}
        here: str | None = start
        while here is not None and here not in done and here not in trail:
            trail[here] = None
            here = parents.get(here)
        if here is not None and here in trail:
            circle = list(trail)[list(trail).index(here) :]
            for name in circle:
                if name in fragments:
                    way = " of ".join([*circle, circle[0]])
                    fragments[name].blame(problems, "parent", f"descends from itself: a cutting {way}")
        done.update(trail)
