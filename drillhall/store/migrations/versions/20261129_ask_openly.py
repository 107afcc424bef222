"""Ask openly: questions by link, the picture of each day, and how the answers fell."""

import sqlalchemy as sa
from alembic import op

revision = "20261129_ask_openly"
down_revision = "20261127_write_catalogues"
branch_labels = None
depends_on = None


def upgrade() -> None:
    op.create_table(
        "open_question",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("public_id", sa.String(length=36), nullable=False),
        sa.Column("group_id", sa.Integer(), nullable=False),
        sa.Column("pair_set_id", sa.Integer(), nullable=False),
        sa.Column("title", sa.String(length=120), nullable=False),
        sa.Column("zone", sa.String(length=64), nullable=False),
        sa.Column("seed", sa.String(length=64), nullable=False),
        sa.Column("sites", sa.JSON(), nullable=False),
        sa.Column("feed_id", sa.String(length=300), nullable=False),
        sa.Column("first_day", sa.Date(), nullable=False),
        sa.Column("made_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("ended_at", sa.DateTime(timezone=True), nullable=True),
        sa.ForeignKeyConstraint(["group_id"], ["group.id"], name=op.f("fk_open_question_group_id_group"), ondelete="CASCADE"),
        sa.ForeignKeyConstraint(["pair_set_id"], ["pair_set.id"], name=op.f("fk_open_question_pair_set_id_pair_set"), ondelete="CASCADE"),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_open_question")),
        sa.UniqueConstraint("public_id", name=op.f("uq_open_question_public_id")),
    )
    op.create_table(
        "open_day",
        sa.Column("question_id", sa.Integer(), nullable=False),
        sa.Column("day", sa.Date(), nullable=False),
        sa.Column("pair_id", sa.Integer(), nullable=False),
        sa.Column("picture_id", sa.Integer(), nullable=False),
        sa.ForeignKeyConstraint(["pair_id"], ["pair.id"], name=op.f("fk_open_day_pair_id_pair"), ondelete="RESTRICT"),
        sa.ForeignKeyConstraint(["picture_id"], ["picture.id"], name=op.f("fk_open_day_picture_id_picture"), ondelete="RESTRICT"),
        sa.ForeignKeyConstraint(
            ["question_id"], ["open_question.id"], name=op.f("fk_open_day_question_id_open_question"), ondelete="CASCADE"
        ),
        sa.PrimaryKeyConstraint("question_id", "day", name=op.f("pk_open_day")),
    )
    op.create_table(
        "open_answer",
        sa.Column("question_id", sa.Integer(), nullable=False),
        sa.Column("day", sa.Date(), nullable=False),
        sa.Column("said_form_id", sa.Integer(), nullable=False),
        sa.Column("times", sa.Integer(), nullable=False),
        sa.CheckConstraint("times >= 0", name=op.f("ck_open_answer_times")),
        sa.ForeignKeyConstraint(
            ["question_id", "day"],
            ["open_day.question_id", "open_day.day"],
            name=op.f("fk_open_answer_question_id_open_day"),
            ondelete="CASCADE",
        ),
        sa.ForeignKeyConstraint(["said_form_id"], ["form.id"], name=op.f("fk_open_answer_said_form_id_form"), ondelete="RESTRICT"),
        sa.PrimaryKeyConstraint("question_id", "day", "said_form_id", name=op.f("pk_open_answer")),
    )
    for table, columns in INDICES:
        with op.batch_alter_table(table, schema=None) as batch_op:
            for column in columns:
                batch_op.create_index(batch_op.f(f"ix_{table}_{column}"), [column], unique=False)


INDICES = (("open_question", ("group_id", "pair_set_id")), ("open_day", ("pair_id", "picture_id")), ("open_answer", ("said_form_id",)))


def downgrade() -> None:
    for table in ("open_answer", "open_day", "open_question"):
        op.drop_table(table)
