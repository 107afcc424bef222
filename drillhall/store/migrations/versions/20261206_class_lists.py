"""Keep the lists of classes: places, a list that waits to be confirmed, and passphrases that were given."""

import sqlalchemy as sa
from alembic import op

revision = "20261206_class_lists"
down_revision = "20261205_send_mail"
branch_labels = None
depends_on = None

HAS_CODE = "code <> ''"


def upgrade() -> None:
    op.create_table(
        "roster_place",
        sa.Column("group_id", sa.Integer(), nullable=False),
        sa.Column("account_id", sa.Integer(), nullable=False),
        sa.Column("code", sa.String(length=255), nullable=False),
        sa.Column("listed_as", sa.String(length=120), nullable=False),
        sa.Column("made_here", sa.Boolean(), nullable=False),
        sa.ForeignKeyConstraint(["group_id"], ["group.id"], name=op.f("fk_roster_place_group_id_group"), ondelete="CASCADE"),
        sa.ForeignKeyConstraint(["account_id"], ["account.id"], name=op.f("fk_roster_place_account_id_account"), ondelete="CASCADE"),
        sa.PrimaryKeyConstraint("group_id", "account_id", name=op.f("pk_roster_place")),
    )
    op.create_index("ix_roster_place_account_id", "roster_place", ["account_id"])
    op.create_index(
        "uq_roster_place_code",
        "roster_place",
        ["group_id", "code"],
        unique=True,
        sqlite_where=sa.text(HAS_CODE),
        postgresql_where=sa.text(HAS_CODE),
    )
    op.create_table(
        "roster_draft",
        sa.Column("group_id", sa.Integer(), nullable=False),
        sa.Column("made_by", sa.Integer(), nullable=False),
        sa.Column("made_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("entries", sa.JSON(), nullable=False),
        sa.ForeignKeyConstraint(["group_id"], ["group.id"], name=op.f("fk_roster_draft_group_id_group"), ondelete="CASCADE"),
        sa.ForeignKeyConstraint(["made_by"], ["account.id"], name=op.f("fk_roster_draft_made_by_account"), ondelete="CASCADE"),
        sa.PrimaryKeyConstraint("group_id", name=op.f("pk_roster_draft")),
    )
    op.create_index("ix_roster_draft_made_by", "roster_draft", ["made_by"])
    op.create_table(
        "given_passphrase",
        sa.Column("account_id", sa.Integer(), nullable=False),
        sa.Column("group_id", sa.Integer(), nullable=False),
        sa.Column("given_by", sa.Integer(), nullable=True),
        sa.Column("batch", sa.String(length=64), nullable=False),
        sa.Column("at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("until", sa.DateTime(timezone=True), nullable=False),
        sa.Column("is_made", sa.Boolean(), nullable=False),
        sa.Column("is_first", sa.Boolean(), nullable=False),
        sa.ForeignKeyConstraint(["account_id"], ["account.id"], name=op.f("fk_given_passphrase_account_id_account"), ondelete="CASCADE"),
        sa.ForeignKeyConstraint(["group_id"], ["group.id"], name=op.f("fk_given_passphrase_group_id_group"), ondelete="CASCADE"),
        sa.ForeignKeyConstraint(["given_by"], ["account.id"], name=op.f("fk_given_passphrase_given_by_account"), ondelete="SET NULL"),
        sa.PrimaryKeyConstraint("account_id", name=op.f("pk_given_passphrase")),
    )
    op.create_index("ix_given_passphrase_group_id", "given_passphrase", ["group_id"])
    op.create_index("ix_given_passphrase_given_by", "given_passphrase", ["given_by"])


def downgrade() -> None:
    for table in ("given_passphrase", "roster_draft", "roster_place"):
        op.drop_table(table)
