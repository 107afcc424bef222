"""Find a learner's counts of the latest weeks without reading all of them."""

from alembic import op

revision = "20261209_find_counts_by_week"
down_revision = "20261208_keep_recalibration"
branch_labels = None
depends_on = None


def upgrade() -> None:
    op.create_index("ix_tally_account_week", "tally", ["account_id", "week"])


def downgrade() -> None:
    op.drop_index("ix_tally_account_week", table_name="tally")
