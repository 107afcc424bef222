"""Measure traits: the unit of a trait, and a form's mean and spread in it."""

import sqlalchemy as sa
from alembic import op

revision = "20261217_measured_traits"
down_revision = "20261216_join_concepts"
branch_labels = None
depends_on = None


def upgrade() -> None:
    with op.batch_alter_table("trait", schema=None) as batch_op:
        batch_op.add_column(sa.Column("unit", sa.String(length=16), nullable=False, server_default=""))
    op.create_table(
        "form_measure",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("catalogue_form_id", sa.Integer(), nullable=False),
        sa.Column("trait_id", sa.Integer(), nullable=False),
        sa.Column("mean", sa.Double(), nullable=False),
        sa.Column("spread", sa.Double(), nullable=False),
        sa.Column("n", sa.Integer(), nullable=True),
        sa.CheckConstraint("spread > 0", name=op.f("ck_form_measure_spread")),
        sa.CheckConstraint("n IS NULL OR n > 0", name=op.f("ck_form_measure_n")),
        sa.ForeignKeyConstraint(
            ["catalogue_form_id"],
            ["catalogue_form.id"],
            name=op.f("fk_form_measure_catalogue_form_id_catalogue_form"),
            ondelete="CASCADE",
        ),
        sa.ForeignKeyConstraint(["trait_id"], ["trait.id"], name=op.f("fk_form_measure_trait_id_trait"), ondelete="CASCADE"),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_form_measure")),
        sa.UniqueConstraint("catalogue_form_id", "trait_id", name=op.f("uq_form_measure_catalogue_form_id_trait_id")),
    )
    with op.batch_alter_table("form_measure", schema=None) as batch_op:
        for column in ("catalogue_form_id", "trait_id"):
            batch_op.create_index(batch_op.f(f"ix_form_measure_{column}"), [column], unique=False)


def downgrade() -> None:
    op.drop_table("form_measure")
    with op.batch_alter_table("trait", schema=None) as batch_op:
        batch_op.drop_column("unit")
