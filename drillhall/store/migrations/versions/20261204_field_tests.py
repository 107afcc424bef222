"""Give groups field tests: their pairs and questions, more time for one, sittings, and what was said in each."""

import sqlalchemy as sa
from alembic import op

revision = "20261204_field_tests"
down_revision = "20261203_play_rounds"
branch_labels = None
depends_on = None


def upgrade() -> None:
    op.create_table(
        "field_test",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("group_id", sa.Integer(), nullable=False),
        sa.Column("catalogue_id", sa.Integer(), nullable=False),
        sa.Column("title", sa.String(length=120), nullable=False),
        sa.Column("minutes", sa.Integer(), nullable=True),
        sa.Column("opens_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("until", sa.DateTime(timezone=True), nullable=False),
        sa.Column("repeats", sa.Boolean(), nullable=False),
        sa.Column("may_pause", sa.Boolean(), nullable=False),
        sa.Column("made_by", sa.Integer(), nullable=True),
        sa.Column("made_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("released_at", sa.DateTime(timezone=True), nullable=True),
        sa.Column("retired_at", sa.DateTime(timezone=True), nullable=True),
        sa.CheckConstraint("minutes IS NULL OR minutes > 0", name=op.f("ck_field_test_minutes")),
        sa.CheckConstraint("until > opens_at", name=op.f("ck_field_test_window")),
        sa.ForeignKeyConstraint(["catalogue_id"], ["catalogue.id"], name=op.f("fk_field_test_catalogue_id_catalogue"), ondelete="RESTRICT"),
        sa.ForeignKeyConstraint(["group_id"], ["group.id"], name=op.f("fk_field_test_group_id_group"), ondelete="CASCADE"),
        sa.ForeignKeyConstraint(["made_by"], ["account.id"], name=op.f("fk_field_test_made_by_account"), ondelete="SET NULL"),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_field_test")),
    )
    _index("field_test", "catalogue_id", "group_id", "made_by")
    op.create_table(
        "field_test_extra",
        sa.Column("field_test_id", sa.Integer(), nullable=False),
        sa.Column("account_id", sa.Integer(), nullable=False),
        sa.Column("percent", sa.Integer(), nullable=True),
        sa.CheckConstraint("percent IS NULL OR percent BETWEEN 1 AND 900", name=op.f("ck_field_test_extra_percent")),
        sa.ForeignKeyConstraint(["account_id"], ["account.id"], name=op.f("fk_field_test_extra_account_id_account"), ondelete="CASCADE"),
        sa.ForeignKeyConstraint(
            ["field_test_id"], ["field_test.id"], name=op.f("fk_field_test_extra_field_test_id_field_test"), ondelete="CASCADE"
        ),
        sa.PrimaryKeyConstraint("field_test_id", "account_id", name=op.f("pk_field_test_extra")),
    )
    _index("field_test_extra", "account_id")
    op.create_table(
        "sitting",
        sa.Column("id", sa.String(length=36), nullable=False),
        sa.Column("field_test_id", sa.Integer(), nullable=False),
        sa.Column("account_id", sa.Integer(), nullable=False),
        sa.Column("number", sa.Integer(), nullable=False),
        sa.Column("begun_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("due_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("paused_at", sa.DateTime(timezone=True), nullable=True),
        sa.Column("handed_at", sa.DateTime(timezone=True), nullable=True),
        sa.Column("counts", sa.Boolean(), nullable=False),
        sa.CheckConstraint("number > 0", name=op.f("ck_sitting_number")),
        sa.ForeignKeyConstraint(["account_id"], ["account.id"], name=op.f("fk_sitting_account_id_account"), ondelete="CASCADE"),
        sa.ForeignKeyConstraint(["field_test_id"], ["field_test.id"], name=op.f("fk_sitting_field_test_id_field_test"), ondelete="CASCADE"),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_sitting")),
        sa.UniqueConstraint("field_test_id", "account_id", "number", name=op.f("uq_sitting_field_test_id_account_id_number")),
    )
    _index("sitting", "account_id", "field_test_id")
    op.create_table(
        "field_test_pair",
        sa.Column("field_test_id", sa.Integer(), nullable=False),
        sa.Column("pair_id", sa.Integer(), nullable=False),
        sa.Column("place", sa.Integer(), nullable=False),
        sa.Column("rare_form_id", sa.Integer(), nullable=True),
        sa.Column("one_in", sa.Integer(), nullable=True),
        sa.CheckConstraint("(rare_form_id IS NULL) = (one_in IS NULL)", name=op.f("ck_field_test_pair_odds")),
        sa.CheckConstraint("one_in IS NULL OR one_in BETWEEN 2 AND 100", name=op.f("ck_field_test_pair_one_in")),
        sa.ForeignKeyConstraint(
            ["field_test_id"], ["field_test.id"], name=op.f("fk_field_test_pair_field_test_id_field_test"), ondelete="CASCADE"
        ),
        sa.ForeignKeyConstraint(["pair_id"], ["pair.id"], name=op.f("fk_field_test_pair_pair_id_pair"), ondelete="RESTRICT"),
        sa.ForeignKeyConstraint(["rare_form_id"], ["form.id"], name=op.f("fk_field_test_pair_rare_form_id_form"), ondelete="RESTRICT"),
        sa.PrimaryKeyConstraint("field_test_id", "pair_id", name=op.f("pk_field_test_pair")),
    )
    _index("field_test_pair", "pair_id", "rare_form_id")
    op.create_table(
        "field_test_question",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("field_test_id", sa.Integer(), nullable=False),
        sa.Column("pair_id", sa.Integer(), nullable=False),
        sa.Column("picture_id", sa.Integer(), nullable=False),
        sa.Column("place", sa.Integer(), nullable=False),
        sa.Column("dropped_at", sa.DateTime(timezone=True), nullable=True),
        sa.ForeignKeyConstraint(
            ["field_test_id"], ["field_test.id"], name=op.f("fk_field_test_question_field_test_id_field_test"), ondelete="CASCADE"
        ),
        sa.ForeignKeyConstraint(["pair_id"], ["pair.id"], name=op.f("fk_field_test_question_pair_id_pair"), ondelete="RESTRICT"),
        sa.ForeignKeyConstraint(
            ["picture_id"], ["picture.id"], name=op.f("fk_field_test_question_picture_id_picture"), ondelete="RESTRICT"
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_field_test_question")),
        sa.UniqueConstraint("field_test_id", "picture_id", name=op.f("uq_field_test_question_field_test_id_picture_id")),
        sa.UniqueConstraint("field_test_id", "place", name=op.f("uq_field_test_question_field_test_id_place")),
    )
    _index("field_test_question", "field_test_id", "pair_id", "picture_id")
    op.create_table(
        "sitting_item",
        sa.Column("sitting_id", sa.String(length=36), nullable=False),
        sa.Column("question_id", sa.Integer(), nullable=False),
        sa.Column("place", sa.Integer(), nullable=False),
        sa.Column("seen_at", sa.DateTime(timezone=True), nullable=True),
        sa.Column("said_form_id", sa.Integer(), nullable=True),
        sa.Column("answered_at", sa.DateTime(timezone=True), nullable=True),
        sa.CheckConstraint("(said_form_id IS NULL) = (answered_at IS NULL)", name=op.f("ck_sitting_item_answer")),
        sa.ForeignKeyConstraint(
            ["question_id"], ["field_test_question.id"], name=op.f("fk_sitting_item_question_id_field_test_question"), ondelete="CASCADE"
        ),
        sa.ForeignKeyConstraint(["said_form_id"], ["form.id"], name=op.f("fk_sitting_item_said_form_id_form"), ondelete="RESTRICT"),
        sa.ForeignKeyConstraint(["sitting_id"], ["sitting.id"], name=op.f("fk_sitting_item_sitting_id_sitting"), ondelete="CASCADE"),
        sa.PrimaryKeyConstraint("sitting_id", "question_id", name=op.f("pk_sitting_item")),
        sa.UniqueConstraint("sitting_id", "place", name=op.f("uq_sitting_item_sitting_id_place")),
    )
    _index("sitting_item", "question_id", "said_form_id")


def _index(table: str, *columns: str) -> None:
    with op.batch_alter_table(table, schema=None) as batch_op:
        for column in columns:
            batch_op.create_index(batch_op.f(f"ix_{table}_{column}"), [column], unique=False)


def downgrade() -> None:
    for table in ("sitting_item", "field_test_question", "field_test_pair", "sitting", "field_test_extra", "field_test"):
        op.drop_table(table)
