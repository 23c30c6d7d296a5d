"""What surveys said of one subject, in their order, without a look at each finding."""

from alembic import op

revision = "0008"
down_revision = "0007"
branch_labels = None
depends_on = None


def upgrade() -> None:
    """Go forward."""
    op.drop_index("finding_subject", table_name="finding")
    op.create_index("finding_subject", "finding", ["nursery", "subject", "survey", "status", "structure"])
    _tell_proportions("2000000 2000000 20 1 1 1")


def downgrade() -> None:
    """Go back."""
    op.drop_index("finding_subject", table_name="finding")
    op.create_index("finding_subject", "finding", ["nursery", "subject"])
    _tell_proportions("2000000 2000000 20")


def _tell_proportions(stat: str) -> None:
    """Of a large nursery: without them SQLite takes this index where another one serves better."""
    if op.get_context().dialect.name == "sqlite":
        op.execute(f"INSERT INTO sqlite_stat1 (tbl, idx, stat) VALUES ('finding', 'finding_subject', '{stat}')")  # noqa: S608
        op.execute("ANALYZE sqlite_schema")
