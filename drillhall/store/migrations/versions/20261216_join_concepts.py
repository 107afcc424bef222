"""Join concepts that were learnt apart: which form stands for another, what was moved, and whom it is told."""

import sqlalchemy as sa
from alembic import op

revision = "20261216_join_concepts"
down_revision = "20261215_passkeys"
branch_labels = None
depends_on = None


def upgrade() -> None:
    with op.batch_alter_table("form", schema=None) as batch_op:
        batch_op.add_column(sa.Column("told_as", sa.Integer(), nullable=True))
        batch_op.create_foreign_key(batch_op.f("fk_form_told_as_form"), "form", ["told_as"], ["id"], ondelete="RESTRICT")
        batch_op.create_index(batch_op.f("ix_form_told_as"), ["told_as"], unique=False)
    with op.batch_alter_table("showing", schema=None) as batch_op:
        batch_op.add_column(sa.Column("renamed", sa.JSON(), nullable=True))
    op.create_table(
        "concept_join",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("subject_id", sa.Integer(), nullable=False),
        sa.Column("object_id", sa.Integer(), nullable=False),
        sa.Column("by_id", sa.Integer(), nullable=True),
        sa.Column("at", sa.DateTime(timezone=True), nullable=False),
        sa.CheckConstraint("subject_id <> object_id", name=op.f("ck_concept_join_two")),
        sa.ForeignKeyConstraint(["subject_id"], ["concept.id"], name=op.f("fk_concept_join_subject_id_concept"), ondelete="RESTRICT"),
        sa.ForeignKeyConstraint(["object_id"], ["concept.id"], name=op.f("fk_concept_join_object_id_concept"), ondelete="RESTRICT"),
        sa.ForeignKeyConstraint(["by_id"], ["account.id"], name=op.f("fk_concept_join_by_id_account"), ondelete="SET NULL"),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_concept_join")),
    )
    with op.batch_alter_table("concept_join", schema=None) as batch_op:
        for column in ("by_id", "object_id", "subject_id"):
            batch_op.create_index(batch_op.f(f"ix_concept_join_{column}"), [column], unique=False)
    op.create_table(
        "concept_join_move",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("join_id", sa.Integer(), nullable=False),
        sa.Column("table_name", sa.String(length=40), nullable=False),
        sa.Column("column_name", sa.String(length=40), nullable=False),
        sa.Column("row_key", sa.String(length=120), nullable=False),
        sa.Column("old", sa.Integer(), nullable=True),
        sa.Column("new", sa.Integer(), nullable=True),
        sa.ForeignKeyConstraint(
            ["join_id"], ["concept_join.id"], name=op.f("fk_concept_join_move_join_id_concept_join"), ondelete="CASCADE"
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_concept_join_move")),
    )
    with op.batch_alter_table("concept_join_move", schema=None) as batch_op:
        batch_op.create_index("ix_concept_join_move_join", ["join_id", "table_name", "column_name"], unique=False)
    op.create_table(
        "concept_join_notice",
        sa.Column("join_id", sa.Integer(), nullable=False),
        sa.Column("account_id", sa.Integer(), nullable=False),
        sa.Column("rounds", sa.Integer(), nullable=False),
        sa.Column("fell_away", sa.Integer(), nullable=False),
        sa.Column("put_away_at", sa.DateTime(timezone=True), nullable=True),
        sa.ForeignKeyConstraint(
            ["join_id"], ["concept_join.id"], name=op.f("fk_concept_join_notice_join_id_concept_join"), ondelete="CASCADE"
        ),
        sa.ForeignKeyConstraint(["account_id"], ["account.id"], name=op.f("fk_concept_join_notice_account_id_account"), ondelete="CASCADE"),
        sa.PrimaryKeyConstraint("join_id", "account_id", name=op.f("pk_concept_join_notice")),
    )
    with op.batch_alter_table("concept_join_notice", schema=None) as batch_op:
        batch_op.create_index(batch_op.f("ix_concept_join_notice_account_id"), ["account_id"], unique=False)


def downgrade() -> None:
    op.drop_table("concept_join_notice")
    op.drop_table("concept_join_move")
    op.drop_table("concept_join")
    with op.batch_alter_table("showing", schema=None) as batch_op:
        batch_op.drop_column("renamed")
    with op.batch_alter_table("form", schema=None) as batch_op:
        batch_op.drop_index(batch_op.f("ix_form_told_as"))
        batch_op.drop_constraint(batch_op.f("fk_form_told_as_form"), type_="foreignkey")
        batch_op.drop_column("told_as")
