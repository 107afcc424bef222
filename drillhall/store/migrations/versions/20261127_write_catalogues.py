"""Write catalogues in the browser: the history of their changes."""

import sqlalchemy as sa
from alembic import op

revision = "20261127_write_catalogues"
down_revision = "20261126_share_pictures"
branch_labels = None
depends_on = None


def upgrade() -> None:
    op.create_table(
        "catalogue_change",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("catalogue_id", sa.Integer(), nullable=False),
        sa.Column("account_id", sa.Integer(), nullable=True),
        sa.Column("at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("kind", sa.String(length=40), nullable=False),
        sa.Column("thing", sa.String(length=200), nullable=False),
        sa.Column("before", sa.JSON(), nullable=False),
        sa.Column("after", sa.JSON(), nullable=False),
        sa.Column("undone_at", sa.DateTime(timezone=True), nullable=True),
        sa.ForeignKeyConstraint(["account_id"], ["account.id"], name=op.f("fk_catalogue_change_account_id_account"), ondelete="SET NULL"),
        sa.ForeignKeyConstraint(
            ["catalogue_id"], ["catalogue.id"], name=op.f("fk_catalogue_change_catalogue_id_catalogue"), ondelete="CASCADE"
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_catalogue_change")),
    )
    with op.batch_alter_table("catalogue_change", schema=None) as batch_op:
        batch_op.create_index(batch_op.f("ix_catalogue_change_account_id"), ["account_id"], unique=False)
        batch_op.create_index(batch_op.f("ix_catalogue_change_catalogue_id"), ["catalogue_id"], unique=False)


def downgrade() -> None:
    op.drop_table("catalogue_change")
