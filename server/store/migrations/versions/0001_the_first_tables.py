"""The first tables."""

import sqlalchemy as sa
from alembic import op

revision = "0001"
down_revision = None
branch_labels = None
depends_on = None


def upgrade() -> None:
    """Go forward."""
    op.create_table(
        "code",
        sa.Column("code_hash", sa.String(), nullable=False),
        sa.Column("nursery", sa.Integer(), nullable=False),
        sa.Column("expires", sa.BigInteger(), nullable=False),
        sa.Column("used_by", sa.String(), nullable=True),
        sa.PrimaryKeyConstraint("code_hash"),
    )
    op.create_table(
        "entry",
        sa.Column("nursery", sa.Integer(), autoincrement=False, nullable=False),
        sa.Column("writer", sa.String().with_variant(sa.String(collation="C"), "postgresql"), nullable=False),
        sa.Column("number", sa.BigInteger(), autoincrement=False, nullable=False),
        sa.Column("survey", sa.String().with_variant(sa.String(collation="C"), "postgresql"), nullable=False),
        sa.Column("subject", sa.String().with_variant(sa.String(collation="C"), "postgresql"), nullable=False),
        sa.Column("raw", sa.LargeBinary(), nullable=False),
        sa.Column("received", sa.BigInteger(), nullable=False),
        sa.Column("via", sa.String(), nullable=False),
        sa.Column("clock_off_s", sa.BigInteger(), nullable=False),
        sa.Column("set_aside", sa.String(), nullable=True),
        sa.PrimaryKeyConstraint("nursery", "writer", "number"),
        sqlite_with_rowid=False,
    )
    with op.batch_alter_table("entry", schema=None) as batch_op:
        batch_op.create_index(
            "entry_aside",
            ["nursery", "set_aside"],
            unique=False,
            postgresql_where=sa.text("set_aside IS NOT NULL"),
            sqlite_where=sa.text("set_aside IS NOT NULL"),
        )
        batch_op.create_index("entry_group", ["nursery", "survey", "subject"], unique=False)

    op.create_table(
        "finding",
        sa.Column("nursery", sa.Integer(), autoincrement=False, nullable=False),
        sa.Column("survey", sa.String().with_variant(sa.String(collation="C"), "postgresql"), nullable=False),
        sa.Column("subject", sa.String().with_variant(sa.String(collation="C"), "postgresql"), nullable=False),
        sa.Column("sort", sa.String(), nullable=False),
        sa.Column("structure", sa.String(), nullable=True),
        sa.Column("status", sa.String(), nullable=True),
        sa.Column("open", sa.Integer(), nullable=False),
        sa.Column("slots", sa.Text(), nullable=False),
        sa.PrimaryKeyConstraint("nursery", "survey", "subject"),
        sqlite_with_rowid=False,
    )
    with op.batch_alter_table("finding", schema=None) as batch_op:
        batch_op.create_index(
            "finding_open",
            ["nursery", "survey"],
            unique=False,
            postgresql_where=sa.text("open > 0"),
            sqlite_where=sa.text("open > 0"),
        )
        batch_op.create_index("finding_structure", ["nursery", "survey", "structure"], unique=False)
        batch_op.create_index("finding_subject", ["nursery", "subject"], unique=False)

    op.create_table(
        "nursery",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("name_id", sa.String(), nullable=False),
        sa.Column("name", sa.String(), nullable=False),
        sa.Column("office", sa.String(), nullable=False),
        sa.Column("demo", sa.Boolean(), nullable=False),
        sa.PrimaryKeyConstraint("id"),
    )
    with op.batch_alter_table("nursery", schema=None) as batch_op:
        batch_op.create_index(batch_op.f("ix_nursery_name_id"), ["name_id"], unique=True)

    op.create_table(
        "office_key",
        sa.Column("key_hash", sa.String(), nullable=False),
        sa.Column("nursery", sa.Integer(), nullable=False),
        sa.Column("person", sa.String(), nullable=False),
        sa.Column("expires", sa.BigInteger(), nullable=False),
        sa.PrimaryKeyConstraint("key_hash"),
    )
    op.create_table(
        "photo",
        sa.Column("nursery", sa.Integer(), nullable=False),
        sa.Column("sha256", sa.String(), nullable=False),
        sa.Column("size", sa.BigInteger(), nullable=False),
        sa.Column("received", sa.BigInteger(), nullable=False),
        sa.PrimaryKeyConstraint("nursery", "sha256"),
    )
    op.create_table(
        "standing",
        sa.Column("nursery", sa.Integer(), autoincrement=False, nullable=False),
        sa.Column("subject", sa.String().with_variant(sa.String(collation="C"), "postgresql"), nullable=False),
        sa.Column("sort", sa.String(), nullable=False),
        sa.Column("structure", sa.String(), nullable=True),
        sa.Column("place", sa.String(), nullable=True),
        sa.Column("status", sa.String(), nullable=True),
        sa.Column("status_survey", sa.String(), nullable=True),
        sa.Column("genet", sa.String(), nullable=True),
        sa.Column("parent", sa.String(), nullable=True),
        sa.Column("tag", sa.String(), nullable=True),
        sa.Column("facts", sa.Text(), nullable=False),
        sa.PrimaryKeyConstraint("nursery", "subject"),
        sqlite_with_rowid=False,
    )
    with op.batch_alter_table("standing", schema=None) as batch_op:
        batch_op.create_index(
            "standing_genet",
            ["nursery", "genet"],
            unique=False,
            postgresql_where=sa.text("genet IS NOT NULL"),
            sqlite_where=sa.text("genet IS NOT NULL"),
        )
        batch_op.create_index(
            "standing_parent",
            ["nursery", "parent"],
            unique=False,
            postgresql_where=sa.text("parent IS NOT NULL"),
            sqlite_where=sa.text("parent IS NOT NULL"),
        )
        batch_op.create_index("standing_sort", ["nursery", "sort"], unique=False)
        batch_op.create_index(
            "standing_structure",
            ["nursery", "structure"],
            unique=False,
            postgresql_where=sa.text("structure IS NOT NULL"),
            sqlite_where=sa.text("structure IS NOT NULL"),
        )
        batch_op.create_index(
            "standing_tag",
            ["nursery", "tag"],
            unique=False,
            postgresql_where=sa.text("tag IS NOT NULL"),
            sqlite_where=sa.text("tag IS NOT NULL"),
        )

    op.create_table(
        "writer",
        sa.Column("nursery", sa.Integer(), nullable=False),
        sa.Column("writer", sa.String().with_variant(sa.String(collation="C"), "postgresql"), nullable=False),
        sa.Column("sort", sa.String(), nullable=False),
        sa.Column("name", sa.String(), nullable=False),
        sa.Column("head", sa.BigInteger(), server_default=sa.text("0"), nullable=False),
        sa.Column("token_hash", sa.String(), nullable=True),
        sa.Column("withdrawn", sa.Boolean(), nullable=False),
        sa.Column("enrolled", sa.BigInteger(), nullable=False),
        sa.Column("seen", sa.BigInteger(), nullable=False),
        sa.Column("clock_off_s", sa.BigInteger(), nullable=False),
        sa.Column("program", sa.String(), nullable=False),
        sa.Column("waiting", sa.Integer(), nullable=False),
        sa.PrimaryKeyConstraint("nursery", "writer"),
    )
    with op.batch_alter_table("writer", schema=None) as batch_op:
        batch_op.create_index("writer_token", ["token_hash"], unique=True)


def downgrade() -> None:
    """Go back."""
    with op.batch_alter_table("writer", schema=None) as batch_op:
        batch_op.drop_index("writer_token")

    op.drop_table("writer")
    with op.batch_alter_table("standing", schema=None) as batch_op:
        batch_op.drop_index("standing_tag", postgresql_where=sa.text("tag IS NOT NULL"), sqlite_where=sa.text("tag IS NOT NULL"))
        batch_op.drop_index(
            "standing_structure", postgresql_where=sa.text("structure IS NOT NULL"), sqlite_where=sa.text("structure IS NOT NULL")
        )
        batch_op.drop_index("standing_sort")
        batch_op.drop_index(
            "standing_parent", postgresql_where=sa.text("parent IS NOT NULL"), sqlite_where=sa.text("parent IS NOT NULL")
        )
        batch_op.drop_index(
            "standing_genet", postgresql_where=sa.text("genet IS NOT NULL"), sqlite_where=sa.text("genet IS NOT NULL")
        )

    op.drop_table("standing")
    op.drop_table("photo")
    op.drop_table("office_key")
    with op.batch_alter_table("nursery", schema=None) as batch_op:
        batch_op.drop_index(batch_op.f("ix_nursery_name_id"))

    op.drop_table("nursery")
    with op.batch_alter_table("finding", schema=None) as batch_op:
        batch_op.drop_index("finding_subject")
        batch_op.drop_index("finding_structure")
        batch_op.drop_index("finding_open", postgresql_where=sa.text("open > 0"), sqlite_where=sa.text("open > 0"))

    op.drop_table("finding")
    with op.batch_alter_table("entry", schema=None) as batch_op:
        batch_op.drop_index("entry_group")
        batch_op.drop_index(
            "entry_aside", postgresql_where=sa.text("set_aside IS NOT NULL"), sqlite_where=sa.text("set_aside IS NOT NULL")
        )

    op.drop_table("entry")
    op.drop_table("code")
