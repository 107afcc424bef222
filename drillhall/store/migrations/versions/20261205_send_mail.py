"""Send mail: letters that wait, addresses of people, subscriptions to open questions, and jobs that recur."""

import sqlalchemy as sa
from alembic import op

revision = "20261205_send_mail"
down_revision = "20261204_field_tests"
branch_labels = None
depends_on = None

WAITS = "sent_at IS NULL AND given_up_at IS NULL"


def upgrade() -> None:
    _people_to_reach()
    op.create_table(
        "letter",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("key", sa.String(length=120), nullable=False),
        sa.Column("kind", sa.String(length=24), nullable=False),
        sa.Column("account_id", sa.Integer(), nullable=True),
        sa.Column("subscription_id", sa.Integer(), nullable=True),
        sa.Column("address", sa.String(length=254), nullable=False),
        sa.Column("subject", sa.String(length=250), nullable=False),
        sa.Column("text", sa.Text(), nullable=False),
        sa.Column("html", sa.Text(), nullable=False),
        sa.Column("unsubscribe", sa.String(length=500), nullable=False),
        sa.Column("picture", sa.String(length=36), nullable=False),
        sa.Column("recipe", sa.String(length=64), nullable=False),
        sa.Column("message_id", sa.String(length=300), nullable=False),
        sa.Column("made_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("due_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("until", sa.DateTime(timezone=True), nullable=True),
        sa.Column("tries", sa.Integer(), nullable=False),
        sa.Column("claimed_until", sa.DateTime(timezone=True), nullable=True),
        sa.Column("sent_at", sa.DateTime(timezone=True), nullable=True),
        sa.Column("given_up_at", sa.DateTime(timezone=True), nullable=True),
        sa.Column("fault", sa.String(length=160), nullable=False),
        sa.ForeignKeyConstraint(["account_id"], ["account.id"], name=op.f("fk_letter_account_id_account"), ondelete="CASCADE"),
        sa.ForeignKeyConstraint(
            ["subscription_id"], ["subscription.id"], name=op.f("fk_letter_subscription_id_subscription"), ondelete="CASCADE"
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_letter")),
        sa.UniqueConstraint("key", name=op.f("uq_letter_key")),
    )
    op.create_index("ix_letter_account_id", "letter", ["account_id"])
    op.create_index("ix_letter_subscription_id", "letter", ["subscription_id"])
    op.create_index("ix_letter_waiting", "letter", ["due_at"], sqlite_where=sa.text(WAITS), postgresql_where=sa.text(WAITS))
    op.create_table(
        "job",
        sa.Column("name", sa.String(length=60), nullable=False),
        sa.Column("due_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("ran_at", sa.DateTime(timezone=True), nullable=True),
        sa.Column("fault", sa.String(length=160), nullable=False),
        sa.PrimaryKeyConstraint("name", name=op.f("pk_job")),
    )


def _people_to_reach() -> None:
    op.create_table(
        "address",
        sa.Column("account_id", sa.Integer(), nullable=False),
        sa.Column("public_id", sa.String(length=36), nullable=False),
        sa.Column("address", sa.String(length=254), nullable=False),
        sa.Column("asked_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("confirmed_at", sa.DateTime(timezone=True), nullable=True),
        sa.Column("reminders", sa.Boolean(), nullable=False),
        sa.Column("reminded_at", sa.DateTime(timezone=True), nullable=True),
        sa.ForeignKeyConstraint(["account_id"], ["account.id"], name=op.f("fk_address_account_id_account"), ondelete="CASCADE"),
        sa.PrimaryKeyConstraint("account_id", name=op.f("pk_address")),
        sa.UniqueConstraint("public_id", name=op.f("uq_address_public_id")),
    )
    op.create_table(
        "subscription",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("question_id", sa.Integer(), nullable=False),
        sa.Column("public_id", sa.String(length=36), nullable=False),
        sa.Column("address", sa.String(length=254), nullable=False),
        sa.Column("asked_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("confirmed_at", sa.DateTime(timezone=True), nullable=True),
        sa.Column("mailed_day", sa.Date(), nullable=True),
        sa.ForeignKeyConstraint(
            ["question_id"], ["open_question.id"], name=op.f("fk_subscription_question_id_open_question"), ondelete="CASCADE"
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_subscription")),
        sa.UniqueConstraint("public_id", name=op.f("uq_subscription_public_id")),
        sa.UniqueConstraint("question_id", "address", name=op.f("uq_subscription_question_id_address")),
    )


def downgrade() -> None:
    for table in ("job", "letter", "subscription", "address"):
        op.drop_table(table)
