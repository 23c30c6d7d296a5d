"""Who is at which question now."""

import sqlalchemy as sa
from alembic import op

revision = "0003"
down_revision = "0002"
branch_labels = None
depends_on = None


def upgrade() -> None:
    """Go forward."""
    op.create_table(
        "office_claim",
        sa.Column("nursery", sa.Integer(), nullable=False),
        sa.Column("session", sa.String(), nullable=False),
        sa.Column("person", sa.String(), nullable=False),
        sa.Column("survey", sa.String(), nullable=False),
        sa.Column("subject", sa.String(), nullable=False),
        sa.Column("fact", sa.String(), nullable=False),
        sa.Column("since", sa.BigInteger(), nullable=False),
        sa.Column("until", sa.BigInteger(), nullable=False),
        sa.PrimaryKeyConstraint("nursery", "session"),
    )


def downgrade() -> None:
    """Go back."""
    op.drop_table("office_claim")
