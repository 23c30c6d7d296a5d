"""Nothing: an index that was made here is dropped by the next step. Databases from then say that they are at this one."""

from alembic import op

revision = "0005"
down_revision = "0004"
branch_labels = None
depends_on = None


def upgrade() -> None:
    """Go forward."""


def downgrade() -> None:
    """Go back."""
    op.drop_index("finding_marked", "finding", if_exists=True)
