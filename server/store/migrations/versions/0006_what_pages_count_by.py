"""Places and states as columns, and indexes that answer what maps, counts and the stock ask, without reading rows besides."""

from typing import Any

import sqlalchemy as sa
from alembic import op

revision = "0006"
down_revision = "0005"
branch_labels = None
depends_on = None

# (table, index, rows, rows for each further column of the key that is fixed): see the first tables
PROPORTIONS = [
    ("finding", "finding_structure", "2000000 2000000 100000 100 95 60 58 1 1"),
    ("finding", "finding_gone", "30000 30000 30000 1500 750"),
    ("finding", "finding_placed", "130000 130000 130000 7000 1"),
    ("finding", "finding_sized", "40000 40000 20"),
    ("standing", "standing_sort", "100000 100000 1000 500"),
    ("standing", "standing_structure", "100000 100000 100 95 90"),
    ("standing", "standing_genet", "100000 100000 5000 4900 4000"),
]

_GONE = "status IN ('dead', 'lost')"
_PLACED = """slots LIKE '%"place":[%'"""
_SIZED = """slots LIKE '%"length_mm":[%' OR slots LIKE '%"tle_mm":[%'"""

_FILL_FINDING = """
UPDATE finding SET
  place = coalesce({place}, {seen_at},
                   CASE sort WHEN 'page' THEN substr(subject, 6) WHEN 'position' THEN substr(subject, 10) END),
  covered = CASE WHEN {coverage} IS NULL THEN NULL
                 WHEN {coverage} LIKE '%"alive":%' THEN 'signed_off' ELSE 'not_reached' END
"""
_FILL_STANDING = """
UPDATE standing SET
  place_survey = {placed},
  state = CASE
    WHEN sort <> 'fragment' THEN NULL
    WHEN place LIKE 'site:%' THEN 'outplanted'
    WHEN place = 'removed' AND status = 'dead' THEN 'dead'
    WHEN place = 'removed' THEN 'removed'
    WHEN status IN ('dead', 'lost') AND (place IS NULL OR status_survey >= {placed}{collate}) THEN status
    ELSE 'held' END
"""


def _name() -> sa.types.TypeEngine[str]:
    return sa.String().with_variant(sa.String(collation="C"), "postgresql")


def _where(condition: str) -> dict[str, Any]:
    return {"postgresql_where": sa.text(condition), "sqlite_where": sa.text(condition)}


def upgrade() -> None:
    """Go forward."""
    _drop_indexes()
    op.drop_index("finding_marked", table_name="finding", if_exists=True)  # 0005 made it for a while
    op.add_column("finding", sa.Column("place", sa.String(), nullable=True))
    op.add_column("finding", sa.Column("covered", sa.String(), nullable=True))
    op.add_column("standing", sa.Column("place_survey", _name(), nullable=True))
    op.add_column("standing", sa.Column("state", sa.String(), nullable=True))
    _fill(op.get_context().dialect.name == "sqlite")
    counted = ["nursery", "survey", "structure", "sort", "status", "open", "place", "covered"]
    op.create_index("finding_structure", "finding", counted)
    op.create_index("finding_gone", "finding", ["nursery", "sort", "survey", "status"], **_where(_GONE))
    op.create_index("finding_placed", "finding", ["nursery", "sort", "survey", "place"], **_where(_PLACED))
    op.create_index("finding_sized", "finding", ["nursery", "subject"], **_where(_SIZED))
    op.create_index("standing_sort", "standing", ["nursery", "sort", "state"])
    op.create_index("standing_structure", "standing", ["nursery", "structure", "sort", "state"], **_where("structure IS NOT NULL"))
    op.create_index("standing_genet", "standing", ["nursery", "genet", "sort", "state"], **_where("genet IS NOT NULL"))
    if op.get_context().dialect.name == "sqlite":
        for row in PROPORTIONS:
            op.execute("INSERT INTO sqlite_stat1 (tbl, idx, stat) VALUES ('{}', '{}', '{}')".format(*row))  # noqa: S608
        op.execute("ANALYZE sqlite_schema")


def _fill(lite: bool) -> None:
    def value(column: str, *steps: str) -> str:
        if lite:
            path = "".join(f"[{step}]" if step.isdigit() else f'."{step}"' for step in steps)
            return f"json_extract({column}, '${path}')"
        return f"({column}::jsonb #>> '{{{','.join(steps)}}}')"

    slots = {fact: value("slots", "slots", fact, "0") for fact in ("place", "seen_at", "coverage")}
    op.execute(sa.text(_escaped(_FILL_FINDING.format(**slots))))
    placed = value("facts", "place", "0")
    op.execute(sa.text(_escaped(_FILL_STANDING.format(placed=placed, collate="" if lite else ' COLLATE "C"'))))


def _escaped(sql: str) -> str:
    """A colon begins a parameter unless it is told not to."""
    return sql.replace("::", "\x00").replace(":", r"\:").replace("\x00", r"\:\:")


def _drop_indexes() -> None:
    op.drop_index("finding_structure", table_name="finding")
    op.drop_index("standing_sort", table_name="standing")
    op.drop_index("standing_structure", table_name="standing")
    op.drop_index("standing_genet", table_name="standing")


def downgrade() -> None:
    """Go back."""
    _drop_indexes()
    for name in ("finding_gone", "finding_placed", "finding_sized"):
        op.drop_index(name, table_name="finding")
    op.drop_column("finding", "place")
    op.drop_column("finding", "covered")
    op.drop_column("standing", "place_survey")
    op.drop_column("standing", "state")
    op.create_index("finding_structure", "finding", ["nursery", "survey", "structure"])
    op.create_index("standing_sort", "standing", ["nursery", "sort"])
    op.create_index("standing_structure", "standing", ["nursery", "structure"], **_where("structure IS NOT NULL"))
    op.create_index("standing_genet", "standing", ["nursery", "genet"], **_where("genet IS NOT NULL"))
