"""Tags with their look-alike letters taken as one, so that one tag is found without reading all."""

import sqlalchemy as sa
from alembic import op

revision = "0007"
down_revision = "0006"
branch_labels = None
depends_on = None

_KEY = "replace(replace(replace(replace(replace(replace(upper(tag), 'O', '0'), 'I', '1'), 'L', '1'), 'U', 'V'), ' ', ''), '-', '')"


def upgrade() -> None:
    """Go forward."""
    op.add_column("standing", sa.Column("tag_key", sa.String(), nullable=True))
    op.execute(f"UPDATE standing SET tag_key = {_KEY} WHERE tag IS NOT NULL")  # noqa: S608
    op.drop_index("standing_tag", table_name="standing")
    known = sa.text("tag_key IS NOT NULL")
    op.create_index("standing_tag_key", "standing", ["nursery", "tag_key"], postgresql_where=known, sqlite_where=known)
    if op.get_context().dialect.name == "sqlite":
        op.execute("INSERT INTO sqlite_stat1 (tbl, idx, stat) VALUES ('standing', 'standing_tag_key', '100000 100000 1')")
        op.execute("ANALYZE sqlite_schema")


def downgrade() -> None:
    """Go back."""
    op.drop_index("standing_tag_key", table_name="standing")
    op.drop_column("standing", "tag_key")
    known = sa.text("tag IS NOT NULL")
    op.create_index("standing_tag", "standing", ["nursery", "tag"], postgresql_where=known, sqlite_where=known)
