"""Stages that hold some poses and distances alone, how far off a picture was taken, and short codes to join by."""

import sqlalchemy as sa
from alembic import op

revision = "20261201_stage_and_code"
down_revision = "20261130_assign_and_plan"
branch_labels = None
depends_on = None


def upgrade() -> None:
    with op.batch_alter_table("stage", schema=None) as batch_op:
        batch_op.add_column(sa.Column("poses", sa.JSON(), nullable=False, server_default="[]"))
        batch_op.add_column(sa.Column("distances", sa.JSON(), nullable=False, server_default="[]"))
    with op.batch_alter_table("picture", schema=None) as batch_op:
        batch_op.add_column(sa.Column("distance", sa.String(length=10), nullable=False, server_default=""))
    with op.batch_alter_table("invitation", schema=None) as batch_op:
        batch_op.add_column(sa.Column("code_hash", sa.String(length=64), nullable=True))
        batch_op.create_unique_constraint(batch_op.f("uq_invitation_code_hash"), ["code_hash"])


def downgrade() -> None:
    with op.batch_alter_table("invitation", schema=None) as batch_op:
        batch_op.drop_constraint(batch_op.f("uq_invitation_code_hash"), type_="unique")
        batch_op.drop_column("code_hash")
    with op.batch_alter_table("picture", schema=None) as batch_op:
        batch_op.drop_column("distance")
    with op.batch_alter_table("stage", schema=None) as batch_op:
        batch_op.drop_column("distances")
        batch_op.drop_column("poses")
