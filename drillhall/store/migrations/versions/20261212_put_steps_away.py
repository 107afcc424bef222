"""Remember which lists of first steps somebody has put away."""

import sqlalchemy as sa
from alembic import op

revision = "20261212_put_steps_away"
down_revision = "20261211_second_step"
branch_labels = None
depends_on = None


def upgrade() -> None:
    with op.batch_alter_table("account", schema=None) as batch_op:
        batch_op.add_column(sa.Column("put_away", sa.JSON(), nullable=False, server_default="[]"))


def downgrade() -> None:
    with op.batch_alter_table("account", schema=None) as batch_op:
        batch_op.drop_column("put_away")
