"""Fit a learner's own numbers in the background: who has asked for it, and what came of it."""

import sqlalchemy as sa
from alembic import op

revision = "20261213_fit_in_the_background"
down_revision = "20261212_put_steps_away"
branch_labels = None
depends_on = None


def upgrade() -> None:
    op.create_table(
        "fitting",
        sa.Column("account_id", sa.Integer(), nullable=False),
        sa.Column("asked_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("begun_at", sa.DateTime(timezone=True), nullable=True),
        sa.Column("done_at", sa.DateTime(timezone=True), nullable=True),
        sa.Column("offered", sa.Boolean(), nullable=False),
        sa.ForeignKeyConstraint(["account_id"], ["account.id"], name=op.f("fk_fitting_account_id_account"), ondelete="CASCADE"),
        sa.PrimaryKeyConstraint("account_id", name=op.f("pk_fitting")),
    )


def downgrade() -> None:
    op.drop_table("fitting")
