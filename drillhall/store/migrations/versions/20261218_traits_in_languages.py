"""Keep what a catalogue says of traits, their states and pairs in other languages than its own."""

import sqlalchemy as sa
from alembic import op

revision = "20261218_traits_in_languages"
down_revision = "20261217_measured_traits"
branch_labels = None
depends_on = None

TABLES = ("trait", "state", "catalogue_pair")


def upgrade() -> None:
    for table in TABLES:
        with op.batch_alter_table(table) as batch_op:
            batch_op.add_column(sa.Column("said", sa.JSON(), nullable=False, server_default="{}"))


def downgrade() -> None:
    for table in reversed(TABLES):
        with op.batch_alter_table(table) as batch_op:
            batch_op.drop_column("said")
