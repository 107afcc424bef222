"""Rounds that end at a miss, counts of prompts, rates of the hall, and rarity drills."""

import sqlalchemy as sa
from alembic import op

revision = "20261203_play_rounds"
down_revision = "20261202_names_and_trials"
branch_labels = None
depends_on = None


def upgrade() -> None:
    with op.batch_alter_table("round", schema=None) as batch_op:
        batch_op.add_column(sa.Column("ends_at_miss", sa.Boolean(), nullable=False, server_default=sa.false()))
        batch_op.add_column(sa.Column("spare", sa.Boolean(), nullable=False, server_default=sa.false()))
    _tallies()
    _rarity()


def _tallies() -> None:
    op.create_table(
        "prompt_tally",
        sa.Column("account_id", sa.Integer(), nullable=False),
        sa.Column("pair_id", sa.Integer(), nullable=False),
        sa.Column("catalogue_id", sa.Integer(), nullable=False),
        sa.Column("trait", sa.String(length=80), nullable=False),
        sa.Column("week", sa.Integer(), nullable=False),
        sa.Column("missed", sa.Integer(), nullable=False),
        sa.Column("shown", sa.Integer(), nullable=False),
        sa.ForeignKeyConstraint(["account_id"], ["account.id"], name=op.f("fk_prompt_tally_account_id_account"), ondelete="CASCADE"),
        sa.ForeignKeyConstraint(
            ["catalogue_id"], ["catalogue.id"], name=op.f("fk_prompt_tally_catalogue_id_catalogue"), ondelete="RESTRICT"
        ),
        sa.ForeignKeyConstraint(["pair_id"], ["pair.id"], name=op.f("fk_prompt_tally_pair_id_pair"), ondelete="RESTRICT"),
        sa.PrimaryKeyConstraint("account_id", "pair_id", "catalogue_id", "trait", "week", name=op.f("pk_prompt_tally")),
    )
    _index("prompt_tally", "catalogue_id", "pair_id")
    op.create_table(
        "hall_rate",
        sa.Column("pair_id", sa.Integer(), nullable=False),
        sa.Column("shown_form_id", sa.Integer(), nullable=False),
        sa.Column("missed", sa.Integer(), nullable=False),
        sa.Column("shown", sa.Integer(), nullable=False),
        sa.ForeignKeyConstraint(["pair_id"], ["pair.id"], name=op.f("fk_hall_rate_pair_id_pair"), ondelete="CASCADE"),
        sa.PrimaryKeyConstraint("pair_id", "shown_form_id", name=op.f("pk_hall_rate")),
    )


def _rarity() -> None:
    op.create_table(
        "rarity_drill",
        sa.Column("id", sa.String(length=36), nullable=False),
        sa.Column("account_id", sa.Integer(), nullable=False),
        sa.Column("pair_id", sa.Integer(), nullable=False),
        sa.Column("catalogue_id", sa.Integer(), nullable=False),
        sa.Column("rare_form_id", sa.Integer(), nullable=False),
        sa.Column("one_in", sa.Integer(), nullable=False),
        sa.Column("made_at", sa.DateTime(timezone=True), nullable=False),
        sa.CheckConstraint("one_in BETWEEN 2 AND 100", name=op.f("ck_rarity_drill_one_in")),
        sa.ForeignKeyConstraint(["account_id"], ["account.id"], name=op.f("fk_rarity_drill_account_id_account"), ondelete="CASCADE"),
        sa.ForeignKeyConstraint(
            ["catalogue_id"], ["catalogue.id"], name=op.f("fk_rarity_drill_catalogue_id_catalogue"), ondelete="RESTRICT"
        ),
        sa.ForeignKeyConstraint(["pair_id"], ["pair.id"], name=op.f("fk_rarity_drill_pair_id_pair"), ondelete="RESTRICT"),
        sa.ForeignKeyConstraint(["rare_form_id"], ["form.id"], name=op.f("fk_rarity_drill_rare_form_id_form"), ondelete="RESTRICT"),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_rarity_drill")),
    )
    op.create_index("ix_rarity_drill_account_made", "rarity_drill", ["account_id", "made_at"], unique=False)
    _index("rarity_drill", "catalogue_id", "pair_id", "rare_form_id")
    op.create_table(
        "rarity_showing",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("drill_id", sa.String(length=36), nullable=False),
        sa.Column("account_id", sa.Integer(), nullable=False),
        sa.Column("place", sa.Integer(), nullable=False),
        sa.Column("picture_id", sa.Integer(), nullable=False),
        sa.Column("form_id", sa.Integer(), nullable=False),
        sa.Column("feedback", sa.Boolean(), nullable=False),
        sa.Column("said_form_id", sa.Integer(), nullable=True),
        sa.Column("at", sa.DateTime(timezone=True), nullable=True),
        sa.ForeignKeyConstraint(["account_id"], ["account.id"], name=op.f("fk_rarity_showing_account_id_account"), ondelete="CASCADE"),
        sa.ForeignKeyConstraint(
            ["drill_id"], ["rarity_drill.id"], name=op.f("fk_rarity_showing_drill_id_rarity_drill"), ondelete="CASCADE"
        ),
        sa.ForeignKeyConstraint(["form_id"], ["form.id"], name=op.f("fk_rarity_showing_form_id_form"), ondelete="RESTRICT"),
        sa.ForeignKeyConstraint(["picture_id"], ["picture.id"], name=op.f("fk_rarity_showing_picture_id_picture"), ondelete="RESTRICT"),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_rarity_showing")),
        sa.UniqueConstraint("drill_id", "place", name=op.f("uq_rarity_showing_drill_id_place")),
    )
    op.create_index("ix_rarity_showing_account_picture", "rarity_showing", ["account_id", "picture_id"], unique=False)
    _index("rarity_showing", "form_id", "picture_id")


def _index(table: str, *columns: str) -> None:
    with op.batch_alter_table(table, schema=None) as batch_op:
        for column in columns:
            batch_op.create_index(batch_op.f(f"ix_{table}_{column}"), [column], unique=False)


def downgrade() -> None:
    for table in ("rarity_showing", "rarity_drill", "hall_rate", "prompt_tally"):
        op.drop_table(table)
    with op.batch_alter_table("round", schema=None) as batch_op:
        batch_op.drop_column("spare")
        batch_op.drop_column("ends_at_miss")
