"""Add up the tally by year, so that a drill is planned from as few rows after years as after one."""

from math import isqrt

import sqlalchemy as sa
from alembic import op

revision = "20261219_tally_by_year"
down_revision = "20261218_traits_in_languages"
branch_labels = None
depends_on = None

WEIGHTS = " ".join(f"WHEN {week} THEN {isqrt(isqrt(1 << 4 * 29 + week))}" for week in range(1, 54))
"""Twice as much every four weeks of a year; a week before its first weighs 2 ** 29."""


def upgrade() -> None:
    op.create_table(
        "tally_year",
        sa.Column("account_id", sa.Integer(), nullable=False),
        sa.Column("year", sa.Integer(), nullable=False),
        sa.Column("pair_id", sa.Integer(), nullable=False),
        sa.Column("shown_form_id", sa.Integer(), nullable=False),
        sa.Column("said_form_id", sa.Integer(), nullable=False),
        sa.Column("answers", sa.Integer(), nullable=False),
        sa.Column("fresh", sa.Integer(), nullable=False),
        sa.Column("plain", sa.Integer(), nullable=False),
        sa.Column("weighed", sa.BigInteger(), nullable=False),
        sa.ForeignKeyConstraint(["account_id"], ["account.id"], name=op.f("fk_tally_year_account_id_account"), ondelete="CASCADE"),
        sa.ForeignKeyConstraint(["pair_id"], ["pair.id"], name=op.f("fk_tally_year_pair_id_pair"), ondelete="RESTRICT"),
        sa.PrimaryKeyConstraint("account_id", "year", "pair_id", "shown_form_id", "said_form_id", name=op.f("pk_tally_year")),
        sqlite_with_rowid=False,
    )
    op.create_index("ix_tally_year_pair_id", "tally_year", ["pair_id"])
    as_taken, of_two = "rendition = 'as taken'", "rendition = 'as taken' AND choices = 2"
    op.execute(
        "INSERT INTO tally_year (account_id, year, pair_id, shown_form_id, said_form_id, answers, fresh, plain, weighed) "  # noqa: S608 - made of our own numbers
        "SELECT account_id, week / 100, pair_id, shown_form_id, said_form_id, "
        f"SUM(CASE WHEN {as_taken} THEN count ELSE 0 END), SUM(CASE WHEN {as_taken} AND fresh THEN count ELSE 0 END), "
        f"SUM(CASE WHEN {of_two} THEN count ELSE 0 END), SUM(CASE WHEN {of_two} THEN count * (CASE week % 100 {WEIGHTS} END) ELSE 0 END) "
        "FROM tally GROUP BY account_id, week / 100, pair_id, shown_form_id, said_form_id"
    )
    op.drop_index("ix_tally_account_week", table_name="tally")


def downgrade() -> None:
    op.create_index("ix_tally_account_week", "tally", ["account_id", "week"])
    op.drop_table("tally_year")
