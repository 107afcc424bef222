"""Keep what forms are called in other languages than their catalogue's."""

import sqlalchemy as sa
from alembic import op

revision = "20261214_names_in_languages"
down_revision = "20261213_fit_in_the_background"
branch_labels = None
depends_on = None


def upgrade() -> None:
    with op.batch_alter_table("catalogue_form") as batch_op:
        batch_op.add_column(sa.Column("called", sa.JSON(), nullable=False, server_default="[]"))


def downgrade() -> None:
    with op.batch_alter_table("catalogue_form") as batch_op:
        batch_op.drop_column("called")
