"""Keep the hall's recalibration, and find the memories of the latest rounds by an index."""

import sqlalchemy as sa
from alembic import op

revision = "20261208_keep_recalibration"
down_revision = "20261207_side_by_side"
branch_labels = None
depends_on = None


def upgrade() -> None:
    op.create_table(
        "recalibration",
        sa.Column("id", sa.Integer(), autoincrement=False, nullable=False),
        sa.Column("intercept", sa.Double(), nullable=False),
        sa.Column("slope", sa.Double(), nullable=False),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_recalibration")),
    )
    op.create_index("ix_memory_last_day", "memory", ["last_day"])


def downgrade() -> None:
    op.drop_index("ix_memory_last_day", table_name="memory")
    op.drop_table("recalibration")
