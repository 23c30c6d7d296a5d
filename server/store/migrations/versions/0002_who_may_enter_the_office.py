"""Accounts, sessions, links, counted tries and the trail; why a tablet was withdrawn. Keys without an account end."""

import sqlalchemy as sa
from alembic import op

revision = "0002"
down_revision = "0001"
branch_labels = None
depends_on = None


def _name() -> sa.types.TypeEngine[str]:
    return sa.String().with_variant(sa.String(collation="C"), "postgresql")


def upgrade() -> None:
    """Go forward."""
    op.create_table(
        "account",
        sa.Column("nursery", sa.Integer(), nullable=False),
        sa.Column("person", _name(), nullable=False),
        sa.Column("name", sa.String(), nullable=False),
        sa.Column("role", sa.String(), nullable=False),
        sa.Column("password_hash", sa.String(), nullable=True),
        sa.Column("active", sa.Boolean(), nullable=False),
        sa.Column("made", sa.BigInteger(), nullable=False),
        sa.PrimaryKeyConstraint("nursery", "person"),
    )
    op.create_table(
        "office_session",
        sa.Column("nursery", sa.Integer(), nullable=False),
        sa.Column("session", sa.String(), nullable=False),
        sa.Column("person", sa.String(), nullable=False),
        sa.Column("begun", sa.BigInteger(), nullable=False),
        sa.Column("seen", sa.BigInteger(), nullable=False),
        sa.Column("expires", sa.BigInteger(), nullable=False),
        sa.Column("browser", sa.String(), nullable=False),
        sa.Column("address", sa.String(), nullable=False),
        sa.PrimaryKeyConstraint("nursery", "session"),
    )
    op.create_index("office_session_person", "office_session", ["nursery", "person"])
    op.create_table(
        "office_link",
        sa.Column("nursery", sa.Integer(), nullable=False),
        sa.Column("link_hash", sa.String(), nullable=False),
        sa.Column("person", sa.String(), nullable=False),
        sa.Column("purpose", sa.String(), nullable=False),
        sa.Column("expires", sa.BigInteger(), nullable=False),
        sa.Column("used", sa.BigInteger(), server_default=sa.text("0"), nullable=False),
        sa.PrimaryKeyConstraint("nursery", "link_hash"),
    )
    op.create_index("office_link_person", "office_link", ["nursery", "person"])
    op.create_table(
        "office_tries",
        sa.Column("nursery", sa.Integer(), nullable=False),
        sa.Column("what", sa.String(), nullable=False),
        sa.Column("began", sa.BigInteger(), nullable=False),
        sa.Column("tries", sa.BigInteger(), nullable=False),
        sa.PrimaryKeyConstraint("nursery", "what"),
    )
    op.create_table(
        "office_trail",
        sa.Column("nursery", sa.Integer(), nullable=False),
        sa.Column("id", _name(), nullable=False),
        sa.Column("at", sa.BigInteger(), nullable=False),
        sa.Column("who", sa.String(), nullable=False),
        sa.Column("what", sa.String(), nullable=False),
        sa.Column("about", sa.String(), nullable=False),
        sa.Column("detail", sa.String(), nullable=False),
        sa.Column("address", sa.String(), nullable=False),
        sa.PrimaryKeyConstraint("nursery", "id"),
    )
    op.add_column("writer", sa.Column("withdrawn_why", sa.String(), server_default="", nullable=False))
    op.add_column("writer", sa.Column("withdrawn_at", sa.BigInteger(), server_default=sa.text("0"), nullable=False))
    op.drop_table("office_key")


def downgrade() -> None:
    """Go back."""
    op.create_table(
        "office_key",
        sa.Column("key_hash", sa.String(), nullable=False),
        sa.Column("nursery", sa.Integer(), nullable=False),
        sa.Column("person", sa.String(), nullable=False),
        sa.Column("expires", sa.BigInteger(), nullable=False),
        sa.PrimaryKeyConstraint("key_hash"),
    )
    op.drop_column("writer", "withdrawn_at")
    op.drop_column("writer", "withdrawn_why")
    for table in ("office_trail", "office_tries", "office_link", "office_session", "account"):
        op.drop_table(table)
