"""Assign pair sets to groups and plan their season: assignments, outings, weeks of the season, links to the calendar."""

import sqlalchemy as sa
from alembic import op

revision = "20261130_assign_and_plan"
down_revision = "20261129_ask_openly"
branch_labels = None
depends_on = None


def upgrade() -> None:
    op.create_table(
        "assignment",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("group_id", sa.Integer(), nullable=False),
        sa.Column("pair_set_id", sa.Integer(), nullable=False),
        sa.Column("from_day", sa.Date(), nullable=False),
        sa.Column("for_day", sa.Date(), nullable=True),
        sa.Column("target_recall", sa.Double(), nullable=True),
        sa.Column("made_by", sa.Integer(), nullable=True),
        sa.Column("made_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("retired_at", sa.DateTime(timezone=True), nullable=True),
        sa.CheckConstraint("for_day IS NULL OR for_day >= from_day", name=op.f("ck_assignment_days")),
        sa.CheckConstraint("target_recall IS NULL OR target_recall BETWEEN 0.70 AND 0.97", name=op.f("ck_assignment_target_recall")),
        sa.ForeignKeyConstraint(["group_id"], ["group.id"], name=op.f("fk_assignment_group_id_group"), ondelete="CASCADE"),
        sa.ForeignKeyConstraint(["made_by"], ["account.id"], name=op.f("fk_assignment_made_by_account"), ondelete="SET NULL"),
        sa.ForeignKeyConstraint(["pair_set_id"], ["pair_set.id"], name=op.f("fk_assignment_pair_set_id_pair_set"), ondelete="RESTRICT"),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_assignment")),
    )
    _index("assignment", "group_id", "made_by", "pair_set_id")
    op.create_table(
        "outing",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("group_id", sa.Integer(), nullable=False),
        sa.Column("assignment_id", sa.Integer(), nullable=True),
        sa.Column("pair_set_id", sa.Integer(), nullable=True),
        sa.Column("title", sa.String(length=120), nullable=False),
        sa.Column("day", sa.Date(), nullable=False),
        sa.Column("place", sa.String(length=200), nullable=False),
        sa.Column("changes", sa.Integer(), nullable=False),
        sa.Column("made_by", sa.Integer(), nullable=True),
        sa.Column("made_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("changed_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("retired_at", sa.DateTime(timezone=True), nullable=True),
        sa.CheckConstraint("(assignment_id IS NULL) <> (pair_set_id IS NULL)", name=op.f("ck_outing_one_purpose")),
        sa.ForeignKeyConstraint(["assignment_id"], ["assignment.id"], name=op.f("fk_outing_assignment_id_assignment"), ondelete="RESTRICT"),
        sa.ForeignKeyConstraint(["group_id"], ["group.id"], name=op.f("fk_outing_group_id_group"), ondelete="CASCADE"),
        sa.ForeignKeyConstraint(["made_by"], ["account.id"], name=op.f("fk_outing_made_by_account"), ondelete="SET NULL"),
        sa.ForeignKeyConstraint(["pair_set_id"], ["pair_set.id"], name=op.f("fk_outing_pair_set_id_pair_set"), ondelete="RESTRICT"),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_outing")),
    )
    _index("outing", "assignment_id", "group_id", "made_by", "pair_set_id")
    op.create_table(
        "season_entry",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("group_id", sa.Integer(), nullable=False),
        sa.Column("assignment_id", sa.Integer(), nullable=True),
        sa.Column("kind", sa.String(length=8), nullable=False),
        sa.Column("first_day", sa.Date(), nullable=False),
        sa.Column("last_day", sa.Date(), nullable=False),
        sa.Column("words", sa.Text(), nullable=False),
        sa.Column("changes", sa.Integer(), nullable=False),
        sa.Column("made_by", sa.Integer(), nullable=True),
        sa.Column("made_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("changed_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("retired_at", sa.DateTime(timezone=True), nullable=True),
        sa.CheckConstraint("kind IN ('lesson', 'holiday', 'here')", name=op.f("ck_season_entry_kind")),
        sa.CheckConstraint("last_day > first_day", name=op.f("ck_season_entry_days")),
        sa.CheckConstraint("assignment_id IS NULL OR kind = 'lesson'", name=op.f("ck_season_entry_assignment")),
        sa.CheckConstraint("assignment_id IS NOT NULL OR words <> ''", name=op.f("ck_season_entry_words")),
        sa.ForeignKeyConstraint(
            ["assignment_id"], ["assignment.id"], name=op.f("fk_season_entry_assignment_id_assignment"), ondelete="RESTRICT"
        ),
        sa.ForeignKeyConstraint(["group_id"], ["group.id"], name=op.f("fk_season_entry_group_id_group"), ondelete="CASCADE"),
        sa.ForeignKeyConstraint(["made_by"], ["account.id"], name=op.f("fk_season_entry_made_by_account"), ondelete="SET NULL"),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_season_entry")),
    )
    _index("season_entry", "assignment_id", "group_id", "made_by")
    op.create_table(
        "calendar_link",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("token_hash", sa.String(length=64), nullable=False),
        sa.Column("group_id", sa.Integer(), nullable=False),
        sa.Column("account_id", sa.Integer(), nullable=False),
        sa.Column("made_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("ended_at", sa.DateTime(timezone=True), nullable=True),
        sa.ForeignKeyConstraint(["account_id"], ["account.id"], name=op.f("fk_calendar_link_account_id_account"), ondelete="CASCADE"),
        sa.ForeignKeyConstraint(["group_id"], ["group.id"], name=op.f("fk_calendar_link_group_id_group"), ondelete="CASCADE"),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_calendar_link")),
        sa.UniqueConstraint("token_hash", name=op.f("uq_calendar_link_token_hash")),
    )
    _index("calendar_link", "account_id", "group_id")


def _index(table: str, *columns: str) -> None:
    with op.batch_alter_table(table, schema=None) as batch_op:
        for column in columns:
            batch_op.create_index(batch_op.f(f"ix_{table}_{column}"), [column], unique=False)


def downgrade() -> None:
    for table in ("calendar_link", "season_entry", "outing", "assignment"):
        op.drop_table(table)
