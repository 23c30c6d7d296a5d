"""An index of what a survey found otherwise than alive: few rows, and asked for by many pages."""

import sqlalchemy as sa
from alembic import op

revision = "0005"
down_revision = "0004"
branch_labels = None
depends_on = None


def upgrade() -> None:
    """Go forward."""
    op.create_index(
        "finding_marked",
        "finding",
        ["nursery", "survey", "status", "structure", "subject"],
        postgresql_where=sa.text("status <> 'alive'"),
        sqlite_where=sa.text("status <> 'alive'"),
    )


def downgrade() -> None:
    """Go back."""
    op.drop_index("finding_marked", "finding")
