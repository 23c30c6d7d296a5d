"""The first tables."""

import sqlalchemy as sa
from alembic import op

revision = "0001"
down_revision = None
branch_labels = None
depends_on = None

# SQLite plans by statistics, and has none of an empty database: it would then take the nursery alone for a good enough
# key and read the whole record for each coral. These are the proportions of 100,000 fragments in 20 surveys; `PRAGMA
# optimize` may put real ones in their place. (table, index, rows, rows for each further column of the key that is fixed)
PROPORTIONS = [
    ("entry", "entry", "2000000 2000000 100000 1"),
    ("entry", "entry_group", "2000000 2000000 100000 1"),
    ("entry", "entry_aside", "100 100 1"),
    ("finding", "finding", "2000000 2000000 100000 1"),
    ("finding", "finding_subject", "2000000 2000000 20"),
    ("finding", "finding_structure", "2000000 2000000 100000 100"),
    ("finding", "finding_open", "2000 2000 100"),
    ("standing", "standing", "100000 100000 1"),
    ("standing", "standing_sort", "100000 100000 1000"),
    ("standing", "standing_structure", "100000 100000 100"),
    ("standing", "standing_genet", "100000 100000 5000"),
    ("standing", "standing_parent", "100000 100000 10"),
    ("standing", "standing_tag", "100000 100000 1"),
]


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
    op.create_index(
        "entry_aside",
        "entry",
        ["nursery", "set_aside"],
        unique=False,
        postgresql_where=sa.text("set_aside IS NOT NULL"),
        sqlite_where=sa.text("set_aside IS NOT NULL"),
    )
    op.create_index("entry_group", "entry", ["nursery", "survey", "subject"], unique=False)
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
    op.create_index(
        "finding_open",
        "finding",
        ["nursery", "survey"],
        unique=False,
        postgresql_where=sa.text("open > 0"),
        sqlite_where=sa.text("open > 0"),
    )
    op.create_index("finding_structure", "finding", ["nursery", "survey", "structure"], unique=False)
    op.create_index("finding_subject", "finding", ["nursery", "subject"], unique=False)
    op.create_table(
        "nursery",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("name_id", sa.String(), nullable=False),
        sa.Column("name", sa.String(), nullable=False),
        sa.Column("office", sa.String(), nullable=False),
        sa.Column("demo", sa.Boolean(), nullable=False),
        sa.PrimaryKeyConstraint("id"),
    )
    op.create_index(op.f("ix_nursery_name_id"), "nursery", ["name_id"], unique=True)
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
    op.create_index(
        "standing_genet",
        "standing",
        ["nursery", "genet"],
        unique=False,
        postgresql_where=sa.text("genet IS NOT NULL"),
        sqlite_where=sa.text("genet IS NOT NULL"),
    )
    op.create_index(
        "standing_parent",
        "standing",
        ["nursery", "parent"],
        unique=False,
        postgresql_where=sa.text("parent IS NOT NULL"),
        sqlite_where=sa.text("parent IS NOT NULL"),
    )
    op.create_index("standing_sort", "standing", ["nursery", "sort"], unique=False)
    op.create_index(
        "standing_structure",
        "standing",
        ["nursery", "structure"],
        unique=False,
        postgresql_where=sa.text("structure IS NOT NULL"),
        sqlite_where=sa.text("structure IS NOT NULL"),
    )
    op.create_index(
        "standing_tag",
        "standing",
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
    op.create_index("writer_token", "writer", ["token_hash"], unique=True)

    if op.get_context().dialect.name == "sqlite":
        op.execute("ANALYZE sqlite_schema")
        for row in PROPORTIONS:
            op.execute("INSERT INTO sqlite_stat1 (tbl, idx, stat) VALUES ('{}', '{}', '{}')".format(*row))  # noqa: S608
        op.execute("ANALYZE sqlite_schema")


def downgrade() -> None:
    """Go back."""
    op.drop_index("writer_token", table_name="writer")
    op.drop_table("writer")
    op.drop_index(
        "standing_tag", table_name="standing", postgresql_where=sa.text("tag IS NOT NULL"), sqlite_where=sa.text("tag IS NOT NULL")
    )
    op.drop_index(
        "standing_structure",
        table_name="standing",
        postgresql_where=sa.text("structure IS NOT NULL"),
        sqlite_where=sa.text("structure IS NOT NULL"),
    )
    op.drop_index("standing_sort", table_name="standing")
    op.drop_index(
        "standing_parent",
        table_name="standing",
        postgresql_where=sa.text("parent IS NOT NULL"),
        sqlite_where=sa.text("parent IS NOT NULL"),
    )
    op.drop_index(
        "standing_genet",
        table_name="standing",
        postgresql_where=sa.text("genet IS NOT NULL"),
        sqlite_where=sa.text("genet IS NOT NULL"),
    )
    op.drop_table("standing")
    op.drop_table("photo")
    op.drop_table("office_key")
    op.drop_index(op.f("ix_nursery_name_id"), table_name="nursery")
    op.drop_table("nursery")
    op.drop_index("finding_subject", table_name="finding")
    op.drop_index("finding_structure", table_name="finding")
    op.drop_index("finding_open", table_name="finding", postgresql_where=sa.text("open > 0"), sqlite_where=sa.text("open > 0"))
    op.drop_table("finding")
    op.drop_index("entry_group", table_name="entry")
    op.drop_index(
        "entry_aside",
        table_name="entry",
        postgresql_where=sa.text("set_aside IS NOT NULL"),
        sqlite_where=sa.text("set_aside IS NOT NULL"),
    )
    op.drop_table("entry")
    op.drop_table("code")
