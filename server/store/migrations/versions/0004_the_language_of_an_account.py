"""In which language somebody reads the pages."""

import sqlalchemy as sa
from alembic import op

revision = "0004"
down_revision = "0003"
branch_labels = None
depends_on = None


def upgrade() -> None:
    """Go forward."""
    op.add_column("account", sa.Column("language", sa.String(), nullable=False, server_default=""))


def downgrade() -> None:
    """Go back."""
    op.drop_column("account", "language")
