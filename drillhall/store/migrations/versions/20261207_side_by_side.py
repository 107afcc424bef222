"""Two pictures side by side, and counts of what was said of them."""

import sqlalchemy as sa
from alembic import op

revision = "20261207_side_by_side"
down_revision = "20261206_class_lists"
branch_labels = None
depends_on = None


def upgrade() -> None:
    with op.batch_alter_table("showing", schema=None) as batch_op:
        batch_op.add_column(sa.Column("beside_id", sa.Integer(), nullable=True))
        batch_op.create_foreign_key(batch_op.f("fk_showing_beside_id_picture"), "picture", ["beside_id"], ["id"], ondelete="RESTRICT")
        batch_op.create_index("ix_showing_beside_id", ["beside_id"], unique=False)
    op.create_table(
        "beside_tally",
        sa.Column("account_id", sa.Integer(), nullable=False),
        sa.Column("pair_id", sa.Integer(), nullable=False),
        sa.Column("asked_form_id", sa.Integer(), nullable=False),
        sa.Column("week", sa.Integer(), nullable=False),
        sa.Column("missed", sa.Integer(), nullable=False),
        sa.Column("shown", sa.Integer(), nullable=False),
        sa.ForeignKeyConstraint(["account_id"], ["account.id"], name=op.f("fk_beside_tally_account_id_account"), ondelete="CASCADE"),
        sa.ForeignKeyConstraint(["pair_id"], ["pair.id"], name=op.f("fk_beside_tally_pair_id_pair"), ondelete="RESTRICT"),
        sa.PrimaryKeyConstraint("account_id", "pair_id", "asked_form_id", "week", name=op.f("pk_beside_tally")),
    )
    op.create_index("ix_beside_tally_pair_id", "beside_tally", ["pair_id"])


def downgrade() -> None:
    op.drop_table("beside_tally")
    with op.batch_alter_table("showing", schema=None) as batch_op:
        batch_op.drop_index("ix_showing_beside_id")
        batch_op.drop_constraint(batch_op.f("fk_showing_beside_id_picture"), type_="foreignkey")
        batch_op.drop_column("beside_id")
