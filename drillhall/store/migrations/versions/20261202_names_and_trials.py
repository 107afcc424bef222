"""Names under several lists and how concepts lie to each other, how common forms are, trials of known pairs, numbers of one's own."""

import sqlalchemy as sa
from alembic import op

revision = "20261202_names_and_trials"
down_revision = "20261201_stage_and_code"
branch_labels = None
depends_on = None


def upgrade() -> None:
    with op.batch_alter_table("concept", schema=None) as batch_op:
        batch_op.add_column(sa.Column("same_as", sa.Integer(), nullable=True))
        batch_op.create_foreign_key(batch_op.f("fk_concept_same_as_concept"), "concept", ["same_as"], ["id"], ondelete="RESTRICT")
        batch_op.create_index(batch_op.f("ix_concept_same_as"), ["same_as"], unique=False)
    op.create_table(
        "concept_mapping",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("catalogue_id", sa.Integer(), nullable=False),
        sa.Column("subject_id", sa.Integer(), nullable=False),
        sa.Column("object_id", sa.Integer(), nullable=False),
        sa.Column("relation", sa.String(length=24), nullable=False),
        sa.Column("according_to", sa.String(length=200), nullable=False),
        sa.Column("place", sa.Integer(), nullable=False),
        sa.CheckConstraint("subject_id <> object_id", name=op.f("ck_concept_mapping_two")),
        sa.ForeignKeyConstraint(
            ["catalogue_id"], ["catalogue.id"], name=op.f("fk_concept_mapping_catalogue_id_catalogue"), ondelete="CASCADE"
        ),
        sa.ForeignKeyConstraint(["subject_id"], ["concept.id"], name=op.f("fk_concept_mapping_subject_id_concept"), ondelete="RESTRICT"),
        sa.ForeignKeyConstraint(["object_id"], ["concept.id"], name=op.f("fk_concept_mapping_object_id_concept"), ondelete="RESTRICT"),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_concept_mapping")),
        sa.UniqueConstraint("catalogue_id", "subject_id", "object_id", name=op.f("uq_concept_mapping_catalogue_id_subject_id_object_id")),
    )
    _index("concept_mapping", "catalogue_id", "object_id", "subject_id")
    with op.batch_alter_table("catalogue_form", schema=None) as batch_op:
        batch_op.add_column(sa.Column("commonness", sa.String(length=16), nullable=False, server_default=""))
        batch_op.add_column(sa.Column("also_named", sa.JSON(), nullable=False, server_default="[]"))
    with op.batch_alter_table("account", schema=None) as batch_op:
        batch_op.add_column(sa.Column("list_name", sa.String(length=200), nullable=False, server_default=""))
    with op.batch_alter_table("drill", schema=None) as batch_op:
        batch_op.add_column(sa.Column("is_trial", sa.Boolean(), nullable=False, server_default=sa.false()))
    with op.batch_alter_table("memory", schema=None) as batch_op:
        batch_op.add_column(sa.Column("recalled", sa.JSON(), nullable=False, server_default="[]"))
    op.create_table(
        "parameter_set",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("account_id", sa.Integer(), nullable=False),
        sa.Column("parameters", sa.JSON(), nullable=False),
        sa.Column("rounds", sa.Integer(), nullable=False),
        sa.Column("judged_on", sa.Integer(), nullable=False),
        sa.Column("usual_loss", sa.Double(), nullable=False),
        sa.Column("fitted_loss", sa.Double(), nullable=False),
        sa.Column("made_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("taken_at", sa.DateTime(timezone=True), nullable=True),
        sa.Column("ended_at", sa.DateTime(timezone=True), nullable=True),
        sa.ForeignKeyConstraint(["account_id"], ["account.id"], name=op.f("fk_parameter_set_account_id_account"), ondelete="CASCADE"),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_parameter_set")),
    )
    _index("parameter_set", "account_id")


def _index(table: str, *columns: str) -> None:
    with op.batch_alter_table(table, schema=None) as batch_op:
        for column in columns:
            batch_op.create_index(batch_op.f(f"ix_{table}_{column}"), [column], unique=False)


def downgrade() -> None:
    op.drop_table("parameter_set")
    for table, columns in (("memory", ["recalled"]), ("drill", ["is_trial"]), ("account", ["list_name"])):
        with op.batch_alter_table(table, schema=None) as batch_op:
            for column in columns:
                batch_op.drop_column(column)
    with op.batch_alter_table("catalogue_form", schema=None) as batch_op:
        batch_op.drop_column("also_named")
        batch_op.drop_column("commonness")
    op.drop_table("concept_mapping")
    with op.batch_alter_table("concept", schema=None) as batch_op:
        batch_op.drop_index(batch_op.f("ix_concept_same_as"))
        batch_op.drop_constraint(batch_op.f("fk_concept_same_as_concept"), type_="foreignkey")
        batch_op.drop_column("same_as")
