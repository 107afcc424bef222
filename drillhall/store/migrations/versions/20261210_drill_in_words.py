"""Drills in words, a wish for them, and letter keys that can be turned off."""

import sqlalchemy as sa
from alembic import op

revision = "20261210_drill_in_words"
down_revision = "20261209_find_counts_by_week"
branch_labels = None
depends_on = None


def upgrade() -> None:
    with op.batch_alter_table("account", schema=None) as batch_op:
        batch_op.add_column(sa.Column("letter_keys", sa.Boolean(), nullable=False, server_default=sa.true()))
        batch_op.add_column(sa.Column("in_words", sa.Boolean(), nullable=False, server_default=sa.false()))
    op.create_table(
        "word_drill",
        sa.Column("id", sa.String(length=36), nullable=False),
        sa.Column("account_id", sa.Integer(), nullable=False),
        sa.Column("day", sa.Date(), nullable=False),
        sa.Column("made_at", sa.DateTime(timezone=True), nullable=False),
        sa.ForeignKeyConstraint(["account_id"], ["account.id"], name=op.f("fk_word_drill_account_id_account"), ondelete="CASCADE"),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_word_drill")),
    )
    op.create_index("ix_word_drill_account_made", "word_drill", ["account_id", "made_at"])
    _descriptions()


def _descriptions() -> None:
    op.create_table(
        "description",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("drill_id", sa.String(length=36), nullable=False),
        sa.Column("account_id", sa.Integer(), nullable=False),
        sa.Column("place", sa.Integer(), nullable=False),
        sa.Column("pair_id", sa.Integer(), nullable=False),
        sa.Column("catalogue_id", sa.Integer(), nullable=False),
        sa.Column("form_id", sa.Integer(), nullable=False),
        sa.Column("told", sa.JSON(), nullable=False),
        sa.Column("said_form_id", sa.Integer(), nullable=True),
        sa.Column("sure", sa.String(length=8), nullable=False),
        sa.Column("at", sa.DateTime(timezone=True), nullable=True),
        sa.CheckConstraint("sure IN ('', 'certain', 'probable', 'possible')", name=op.f("ck_description_sure")),
        sa.ForeignKeyConstraint(["account_id"], ["account.id"], name=op.f("fk_description_account_id_account"), ondelete="CASCADE"),
        sa.ForeignKeyConstraint(
            ["catalogue_id"], ["catalogue.id"], name=op.f("fk_description_catalogue_id_catalogue"), ondelete="RESTRICT"
        ),
        sa.ForeignKeyConstraint(["drill_id"], ["word_drill.id"], name=op.f("fk_description_drill_id_word_drill"), ondelete="CASCADE"),
        sa.ForeignKeyConstraint(["form_id"], ["form.id"], name=op.f("fk_description_form_id_form"), ondelete="RESTRICT"),
        sa.ForeignKeyConstraint(["pair_id"], ["pair.id"], name=op.f("fk_description_pair_id_pair"), ondelete="RESTRICT"),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_description")),
        sa.UniqueConstraint("drill_id", "place", name=op.f("uq_description_drill_id_place")),
    )
    op.create_index("ix_description_account_pair", "description", ["account_id", "pair_id"])
    for column in ("catalogue_id", "form_id", "pair_id"):
        op.create_index(f"ix_description_{column}", "description", [column])


def downgrade() -> None:
    op.drop_table("description")
    op.drop_table("word_drill")
    with op.batch_alter_table("account", schema=None) as batch_op:
        batch_op.drop_column("in_words")
        batch_op.drop_column("letter_keys")
