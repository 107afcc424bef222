"""Keep who signs in with a second step, and the spare codes for a lost device."""

import sqlalchemy as sa
from alembic import op

revision = "20261211_second_step"
down_revision = "20261210_drill_in_words"
branch_labels = None
depends_on = None


def upgrade() -> None:
    op.create_table(
        "second_step",
        sa.Column("account_id", sa.Integer(), nullable=False),
        sa.Column("salt", sa.String(length=64), nullable=False),
        sa.Column("made_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("confirmed_at", sa.DateTime(timezone=True), nullable=True),
        sa.Column("last_step", sa.Integer(), nullable=False),
        sa.ForeignKeyConstraint(["account_id"], ["account.id"], name=op.f("fk_second_step_account_id_account"), ondelete="CASCADE"),
        sa.PrimaryKeyConstraint("account_id", name=op.f("pk_second_step")),
    )
    op.create_table(
        "spare_code",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("account_id", sa.Integer(), nullable=False),
        sa.Column("handle", sa.String(length=8), nullable=False),
        sa.Column("code_hash", sa.String(length=200), nullable=False),
        sa.Column("used_at", sa.DateTime(timezone=True), nullable=True),
        sa.ForeignKeyConstraint(["account_id"], ["account.id"], name=op.f("fk_spare_code_account_id_account"), ondelete="CASCADE"),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_spare_code")),
    )
    op.create_index("ix_spare_code_account_id", "spare_code", ["account_id"])


def downgrade() -> None:
    op.drop_table("spare_code")
    op.drop_table("second_step")
