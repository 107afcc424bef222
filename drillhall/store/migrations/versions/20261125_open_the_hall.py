"""Open the hall."""

import sqlalchemy as sa
from alembic import op

revision = "20261125_open_the_hall"
down_revision = None
branch_labels = None
depends_on = None


def upgrade() -> None:
    op.create_table(
        "account",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("name", sa.String(length=80), nullable=False),
        sa.Column("name_folded", sa.String(length=120), nullable=False),
        sa.Column("passphrase_hash", sa.String(length=200), nullable=False),
        sa.Column("is_keeper", sa.Boolean(), nullable=False),
        sa.Column("zone", sa.String(length=64), nullable=False),
        sa.Column("language", sa.String(length=16), nullable=False),
        sa.Column("minutes_a_day", sa.Integer(), nullable=False),
        sa.Column("target_recall", sa.Double(), nullable=False),
        sa.Column("new_a_day", sa.Integer(), nullable=False),
        sa.Column("round_length", sa.Integer(), nullable=True),
        sa.Column("colour_vision", sa.String(length=16), nullable=False),
        sa.Column("single_keys", sa.Boolean(), nullable=False),
        sa.Column("created_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("retired_at", sa.DateTime(timezone=True), nullable=True),
        sa.CheckConstraint("minutes_a_day BETWEEN 1 AND 120", name=op.f("ck_account_minutes")),
        sa.CheckConstraint("new_a_day BETWEEN 0 AND 10", name=op.f("ck_account_new_a_day")),
        sa.CheckConstraint("round_length IS NULL OR round_length BETWEEN 2 AND 6", name=op.f("ck_account_round_length")),
        sa.CheckConstraint("target_recall BETWEEN 0.70 AND 0.97", name=op.f("ck_account_target_recall")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_account")),
        sa.UniqueConstraint("name_folded", name=op.f("uq_account_name_folded")),
    )
    op.create_table(
        "attempt",
        sa.Column("subject", sa.String(length=120), nullable=False),
        sa.Column("window_start", sa.DateTime(timezone=True), nullable=False),
        sa.Column("count", sa.Integer(), nullable=False),
        sa.PrimaryKeyConstraint("subject", "window_start", name=op.f("pk_attempt")),
    )
    op.create_table(
        "catalogue",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("key", sa.String(length=80), nullable=False),
        sa.Column("title", sa.String(length=200), nullable=False),
        sa.Column("language", sa.String(length=16), nullable=False),
        sa.Column("subject", sa.String(length=40), nullable=False),
        sa.Column("list_name", sa.String(length=200), nullable=False),
        sa.Column("note", sa.Text(), nullable=False),
        sa.Column("extra", sa.JSON(), nullable=False),
        sa.Column("made_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("changed_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("retired_at", sa.DateTime(timezone=True), nullable=True),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_catalogue")),
        sa.UniqueConstraint("key", name=op.f("uq_catalogue_key")),
    )
    op.create_table(
        "concept",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("taxon_concept_id", sa.String(length=200), nullable=False),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_concept")),
        sa.UniqueConstraint("taxon_concept_id", name=op.f("uq_concept_taxon_concept_id")),
    )
    op.create_table(
        "setting",
        sa.Column("key", sa.String(length=64), nullable=False),
        sa.Column("value", sa.JSON(), nullable=False),
        sa.PrimaryKeyConstraint("key", name=op.f("pk_setting")),
    )
    op.create_table(
        "audit",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("account_id", sa.Integer(), nullable=True),
        sa.Column("act", sa.String(length=64), nullable=False),
        sa.Column("subject", sa.String(length=200), nullable=False),
        sa.ForeignKeyConstraint(["account_id"], ["account.id"], name=op.f("fk_audit_account_id_account"), ondelete="SET NULL"),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_audit")),
    )
    with op.batch_alter_table("audit", schema=None) as batch_op:
        batch_op.create_index(batch_op.f("ix_audit_account_id"), ["account_id"], unique=False)
        batch_op.create_index(batch_op.f("ix_audit_at"), ["at"], unique=False)

    op.create_table(
        "drill",
        sa.Column("id", sa.String(length=36), nullable=False),
        sa.Column("account_id", sa.Integer(), nullable=False),
        sa.Column("zone", sa.String(length=64), nullable=False),
        sa.Column("planned_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("planned_day", sa.Date(), nullable=False),
        sa.Column("until", sa.DateTime(timezone=True), nullable=False),
        sa.Column("minutes", sa.Integer(), nullable=False),
        sa.Column("showing_ms", sa.Integer(), nullable=False),
        sa.Column("pace_ms", sa.Integer(), nullable=False),
        sa.Column("first_at", sa.DateTime(timezone=True), nullable=True),
        sa.Column("local_day", sa.Date(), nullable=True),
        sa.Column("ended_at", sa.DateTime(timezone=True), nullable=True),
        sa.ForeignKeyConstraint(["account_id"], ["account.id"], name=op.f("fk_drill_account_id_account"), ondelete="CASCADE"),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_drill")),
    )
    with op.batch_alter_table("drill", schema=None) as batch_op:
        batch_op.create_index("ix_drill_account_first", ["account_id", "first_at"], unique=False)
        batch_op.create_index(batch_op.f("ix_drill_account_id"), ["account_id"], unique=False)
        batch_op.create_index("ix_drill_account_planned", ["account_id", "planned_at"], unique=False)

    op.create_table(
        "form",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("concept_id", sa.Integer(), nullable=False),
        sa.Column("sex", sa.String(length=40), nullable=False),
        sa.Column("life_stage", sa.String(length=40), nullable=False),
        sa.Column("plumage", sa.String(length=80), nullable=False),
        sa.Column("variant", sa.String(length=80), nullable=False),
        sa.ForeignKeyConstraint(["concept_id"], ["concept.id"], name=op.f("fk_form_concept_id_concept"), ondelete="RESTRICT"),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_form")),
        sa.UniqueConstraint(
            "concept_id", "sex", "life_stage", "plumage", "variant", name=op.f("uq_form_concept_id_sex_life_stage_plumage_variant")
        ),
    )
    with op.batch_alter_table("form", schema=None) as batch_op:
        batch_op.create_index(batch_op.f("ix_form_concept_id"), ["concept_id"], unique=False)

    op.create_table(
        "invitation",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("token_hash", sa.String(length=64), nullable=False),
        sa.Column("made_by", sa.Integer(), nullable=False),
        sa.Column("note", sa.String(length=120), nullable=False),
        sa.Column("made_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("until", sa.DateTime(timezone=True), nullable=False),
        sa.Column("ended_at", sa.DateTime(timezone=True), nullable=True),
        sa.Column("places", sa.Integer(), nullable=False),
        sa.Column("taken", sa.Integer(), nullable=False),
        sa.ForeignKeyConstraint(["made_by"], ["account.id"], name=op.f("fk_invitation_made_by_account"), ondelete="CASCADE"),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_invitation")),
        sa.UniqueConstraint("token_hash", name=op.f("uq_invitation_token_hash")),
    )
    with op.batch_alter_table("invitation", schema=None) as batch_op:
        batch_op.create_index(batch_op.f("ix_invitation_made_by"), ["made_by"], unique=False)

    op.create_table(
        "name",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("concept_id", sa.Integer(), nullable=False),
        sa.Column("according_to", sa.String(length=200), nullable=False),
        sa.Column("scientific_name", sa.String(length=200), nullable=False),
        sa.Column("taxon_rank", sa.String(length=40), nullable=False),
        sa.Column("status", sa.String(length=40), nullable=False),
        sa.ForeignKeyConstraint(["concept_id"], ["concept.id"], name=op.f("fk_name_concept_id_concept"), ondelete="RESTRICT"),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_name")),
        sa.UniqueConstraint("concept_id", "according_to", "scientific_name", name=op.f("uq_name_concept_id_according_to_scientific_name")),
    )
    with op.batch_alter_table("name", schema=None) as batch_op:
        batch_op.create_index(batch_op.f("ix_name_concept_id"), ["concept_id"], unique=False)

    op.create_table(
        "one_time_link",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("token_hash", sa.String(length=64), nullable=False),
        sa.Column("account_id", sa.Integer(), nullable=True),
        sa.Column("purpose", sa.String(length=24), nullable=False),
        sa.Column("until", sa.DateTime(timezone=True), nullable=False),
        sa.Column("used_at", sa.DateTime(timezone=True), nullable=True),
        sa.ForeignKeyConstraint(["account_id"], ["account.id"], name=op.f("fk_one_time_link_account_id_account"), ondelete="CASCADE"),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_one_time_link")),
        sa.UniqueConstraint("token_hash", name=op.f("uq_one_time_link_token_hash")),
    )
    with op.batch_alter_table("one_time_link", schema=None) as batch_op:
        batch_op.create_index(batch_op.f("ix_one_time_link_account_id"), ["account_id"], unique=False)

    op.create_table(
        "pair_set",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("catalogue_id", sa.Integer(), nullable=False),
        sa.Column("key", sa.String(length=80), nullable=False),
        sa.Column("title", sa.String(length=200), nullable=False),
        sa.Column("note", sa.Text(), nullable=False),
        sa.Column("place", sa.Integer(), nullable=False),
        sa.Column("extra", sa.JSON(), nullable=False),
        sa.Column("retired_at", sa.DateTime(timezone=True), nullable=True),
        sa.ForeignKeyConstraint(["catalogue_id"], ["catalogue.id"], name=op.f("fk_pair_set_catalogue_id_catalogue"), ondelete="CASCADE"),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_pair_set")),
        sa.UniqueConstraint("catalogue_id", "key", name=op.f("uq_pair_set_catalogue_id_key")),
    )
    with op.batch_alter_table("pair_set", schema=None) as batch_op:
        batch_op.create_index(batch_op.f("ix_pair_set_catalogue_id"), ["catalogue_id"], unique=False)

    op.create_table(
        "sign_in",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("account_id", sa.Integer(), nullable=False),
        sa.Column("token_hash", sa.String(length=64), nullable=False),
        sa.Column("stay", sa.Boolean(), nullable=False),
        sa.Column("made_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("seen_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("until", sa.DateTime(timezone=True), nullable=False),
        sa.ForeignKeyConstraint(["account_id"], ["account.id"], name=op.f("fk_sign_in_account_id_account"), ondelete="CASCADE"),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_sign_in")),
        sa.UniqueConstraint("token_hash", name=op.f("uq_sign_in_token_hash")),
    )
    with op.batch_alter_table("sign_in", schema=None) as batch_op:
        batch_op.create_index(batch_op.f("ix_sign_in_account_id"), ["account_id"], unique=False)

    op.create_table(
        "steward",
        sa.Column("catalogue_id", sa.Integer(), nullable=False),
        sa.Column("account_id", sa.Integer(), nullable=False),
        sa.ForeignKeyConstraint(["account_id"], ["account.id"], name=op.f("fk_steward_account_id_account"), ondelete="CASCADE"),
        sa.ForeignKeyConstraint(["catalogue_id"], ["catalogue.id"], name=op.f("fk_steward_catalogue_id_catalogue"), ondelete="CASCADE"),
        sa.PrimaryKeyConstraint("catalogue_id", "account_id", name=op.f("pk_steward")),
    )
    with op.batch_alter_table("steward", schema=None) as batch_op:
        batch_op.create_index(batch_op.f("ix_steward_account_id"), ["account_id"], unique=False)

    op.create_table(
        "trait",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("catalogue_id", sa.Integer(), nullable=False),
        sa.Column("key", sa.String(length=80), nullable=False),
        sa.Column("label", sa.String(length=120), nullable=False),
        sa.Column("ask", sa.String(length=200), nullable=False),
        sa.Column("part", sa.String(length=40), nullable=False),
        sa.Column("kind", sa.String(length=16), nullable=False),
        sa.Column("note", sa.Text(), nullable=False),
        sa.Column("place", sa.Integer(), nullable=False),
        sa.Column("extra", sa.JSON(), nullable=False),
        sa.Column("retired_at", sa.DateTime(timezone=True), nullable=True),
        sa.ForeignKeyConstraint(["catalogue_id"], ["catalogue.id"], name=op.f("fk_trait_catalogue_id_catalogue"), ondelete="CASCADE"),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_trait")),
        sa.UniqueConstraint("catalogue_id", "key", name=op.f("uq_trait_catalogue_id_key")),
    )
    with op.batch_alter_table("trait", schema=None) as batch_op:
        batch_op.create_index(batch_op.f("ix_trait_catalogue_id"), ["catalogue_id"], unique=False)

    op.create_table(
        "vernacular",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("concept_id", sa.Integer(), nullable=False),
        sa.Column("language", sa.String(length=16), nullable=False),
        sa.Column("name", sa.String(length=200), nullable=False),
        sa.ForeignKeyConstraint(["concept_id"], ["concept.id"], name=op.f("fk_vernacular_concept_id_concept"), ondelete="RESTRICT"),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_vernacular")),
        sa.UniqueConstraint("concept_id", "language", "name", name=op.f("uq_vernacular_concept_id_language_name")),
    )
    with op.batch_alter_table("vernacular", schema=None) as batch_op:
        batch_op.create_index(batch_op.f("ix_vernacular_concept_id"), ["concept_id"], unique=False)

    op.create_table(
        "catalogue_form",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("catalogue_id", sa.Integer(), nullable=False),
        sa.Column("form_id", sa.Integer(), nullable=False),
        sa.Column("name_id", sa.Integer(), nullable=True),
        sa.Column("vernacular_id", sa.Integer(), nullable=True),
        sa.Column("key", sa.String(length=80), nullable=False),
        sa.Column("note", sa.Text(), nullable=False),
        sa.Column("place", sa.Integer(), nullable=False),
        sa.Column("extra", sa.JSON(), nullable=False),
        sa.Column("retired_at", sa.DateTime(timezone=True), nullable=True),
        sa.ForeignKeyConstraint(
            ["catalogue_id"], ["catalogue.id"], name=op.f("fk_catalogue_form_catalogue_id_catalogue"), ondelete="CASCADE"
        ),
        sa.ForeignKeyConstraint(["form_id"], ["form.id"], name=op.f("fk_catalogue_form_form_id_form"), ondelete="RESTRICT"),
        sa.ForeignKeyConstraint(["name_id"], ["name.id"], name=op.f("fk_catalogue_form_name_id_name"), ondelete="RESTRICT"),
        sa.ForeignKeyConstraint(
            ["vernacular_id"], ["vernacular.id"], name=op.f("fk_catalogue_form_vernacular_id_vernacular"), ondelete="RESTRICT"
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_catalogue_form")),
        sa.UniqueConstraint("catalogue_id", "form_id", name=op.f("uq_catalogue_form_catalogue_id_form_id")),
        sa.UniqueConstraint("catalogue_id", "key", name=op.f("uq_catalogue_form_catalogue_id_key")),
    )
    with op.batch_alter_table("catalogue_form", schema=None) as batch_op:
        batch_op.create_index(batch_op.f("ix_catalogue_form_catalogue_id"), ["catalogue_id"], unique=False)
        batch_op.create_index(batch_op.f("ix_catalogue_form_form_id"), ["form_id"], unique=False)
        batch_op.create_index(batch_op.f("ix_catalogue_form_name_id"), ["name_id"], unique=False)
        batch_op.create_index(batch_op.f("ix_catalogue_form_vernacular_id"), ["vernacular_id"], unique=False)

    op.create_table(
        "pair",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("first_form_id", sa.Integer(), nullable=False),
        sa.Column("second_form_id", sa.Integer(), nullable=False),
        sa.CheckConstraint("first_form_id < second_form_id", name=op.f("ck_pair_ordered")),
        sa.ForeignKeyConstraint(["first_form_id"], ["form.id"], name=op.f("fk_pair_first_form_id_form"), ondelete="RESTRICT"),
        sa.ForeignKeyConstraint(["second_form_id"], ["form.id"], name=op.f("fk_pair_second_form_id_form"), ondelete="RESTRICT"),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_pair")),
        sa.UniqueConstraint("first_form_id", "second_form_id", name=op.f("uq_pair_first_form_id_second_form_id")),
    )
    with op.batch_alter_table("pair", schema=None) as batch_op:
        batch_op.create_index(batch_op.f("ix_pair_first_form_id"), ["first_form_id"], unique=False)
        batch_op.create_index(batch_op.f("ix_pair_second_form_id"), ["second_form_id"], unique=False)

    op.create_table(
        "picture",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("public_id", sa.String(length=36), nullable=False),
        sa.Column("owner_id", sa.Integer(), nullable=True),
        sa.Column("form_id", sa.Integer(), nullable=True),
        sa.Column("use", sa.String(length=10), nullable=False),
        sa.Column("medium", sa.String(length=20), nullable=False),
        sa.Column("orientation", sa.String(length=24), nullable=False),
        sa.Column("pose", sa.String(length=40), nullable=False),
        sa.Column("setting", sa.String(length=40), nullable=False),
        sa.Column("typical", sa.Boolean(), nullable=False),
        sa.Column("alt", sa.String(length=300), nullable=False),
        sa.Column("taken_on", sa.Date(), nullable=True),
        sa.Column("width_px", sa.Integer(), nullable=False),
        sa.Column("height_px", sa.Integer(), nullable=False),
        sa.Column("content_sha256", sa.String(length=64), nullable=False),
        sa.Column("fingerprint", sa.BigInteger(), nullable=False),
        sa.Column("cluster", sa.String(length=40), nullable=False),
        sa.Column("made_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("retired_at", sa.DateTime(timezone=True), nullable=True),
        sa.CheckConstraint("use IN ('practice', 'portrait', 'held-out')", name=op.f("ck_picture_use")),
        sa.ForeignKeyConstraint(["form_id"], ["form.id"], name=op.f("fk_picture_form_id_form"), ondelete="RESTRICT"),
        sa.ForeignKeyConstraint(["owner_id"], ["account.id"], name=op.f("fk_picture_owner_id_account"), ondelete="SET NULL"),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_picture")),
        sa.UniqueConstraint("public_id", name=op.f("uq_picture_public_id")),
    )
    with op.batch_alter_table("picture", schema=None) as batch_op:
        batch_op.create_index(batch_op.f("ix_picture_content_sha256"), ["content_sha256"], unique=False)
        batch_op.create_index(batch_op.f("ix_picture_form_id"), ["form_id"], unique=False)
        batch_op.create_index(batch_op.f("ix_picture_owner_id"), ["owner_id"], unique=False)

    op.create_table(
        "stage",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("pair_set_id", sa.Integer(), nullable=False),
        sa.Column("place", sa.Integer(), nullable=False),
        sa.Column("title", sa.String(length=200), nullable=False),
        sa.Column("extra", sa.JSON(), nullable=False),
        sa.ForeignKeyConstraint(["pair_set_id"], ["pair_set.id"], name=op.f("fk_stage_pair_set_id_pair_set"), ondelete="CASCADE"),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_stage")),
        sa.UniqueConstraint("pair_set_id", "place", name=op.f("uq_stage_pair_set_id_place")),
    )
    with op.batch_alter_table("stage", schema=None) as batch_op:
        batch_op.create_index(batch_op.f("ix_stage_pair_set_id"), ["pair_set_id"], unique=False)

    op.create_table(
        "state",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("trait_id", sa.Integer(), nullable=False),
        sa.Column("key", sa.String(length=80), nullable=False),
        sa.Column("label", sa.String(length=120), nullable=False),
        sa.Column("also_called", sa.JSON(), nullable=False),
        sa.Column("colour", sa.String(length=7), nullable=False),
        sa.Column("place", sa.Integer(), nullable=False),
        sa.Column("extra", sa.JSON(), nullable=False),
        sa.Column("retired_at", sa.DateTime(timezone=True), nullable=True),
        sa.ForeignKeyConstraint(["trait_id"], ["trait.id"], name=op.f("fk_state_trait_id_trait"), ondelete="CASCADE"),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_state")),
        sa.UniqueConstraint("trait_id", "key", name=op.f("uq_state_trait_id_key")),
    )
    with op.batch_alter_table("state", schema=None) as batch_op:
        batch_op.create_index(batch_op.f("ix_state_trait_id"), ["trait_id"], unique=False)

    op.create_table(
        "taken_set",
        sa.Column("account_id", sa.Integer(), nullable=False),
        sa.Column("pair_set_id", sa.Integer(), nullable=False),
        sa.Column("taken_at", sa.DateTime(timezone=True), nullable=False),
        sa.ForeignKeyConstraint(["account_id"], ["account.id"], name=op.f("fk_taken_set_account_id_account"), ondelete="CASCADE"),
        sa.ForeignKeyConstraint(["pair_set_id"], ["pair_set.id"], name=op.f("fk_taken_set_pair_set_id_pair_set"), ondelete="CASCADE"),
        sa.PrimaryKeyConstraint("account_id", "pair_set_id", name=op.f("pk_taken_set")),
    )
    with op.batch_alter_table("taken_set", schema=None) as batch_op:
        batch_op.create_index(batch_op.f("ix_taken_set_pair_set_id"), ["pair_set_id"], unique=False)

    op.create_table(
        "catalogue_pair",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("catalogue_id", sa.Integer(), nullable=False),
        sa.Column("pair_id", sa.Integer(), nullable=False),
        sa.Column("key", sa.String(length=160), nullable=False),
        sa.Column("note", sa.Text(), nullable=False),
        sa.Column("place", sa.Integer(), nullable=False),
        sa.Column("neither_allowed", sa.Boolean(), nullable=False),
        sa.Column("third_share", sa.Double(), nullable=False),
        sa.Column("extra", sa.JSON(), nullable=False),
        sa.Column("retired_at", sa.DateTime(timezone=True), nullable=True),
        sa.ForeignKeyConstraint(
            ["catalogue_id"], ["catalogue.id"], name=op.f("fk_catalogue_pair_catalogue_id_catalogue"), ondelete="CASCADE"
        ),
        sa.ForeignKeyConstraint(["pair_id"], ["pair.id"], name=op.f("fk_catalogue_pair_pair_id_pair"), ondelete="RESTRICT"),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_catalogue_pair")),
        sa.UniqueConstraint("catalogue_id", "key", name=op.f("uq_catalogue_pair_catalogue_id_key")),
        sa.UniqueConstraint("catalogue_id", "pair_id", name=op.f("uq_catalogue_pair_catalogue_id_pair_id")),
    )
    with op.batch_alter_table("catalogue_pair", schema=None) as batch_op:
        batch_op.create_index(batch_op.f("ix_catalogue_pair_catalogue_id"), ["catalogue_id"], unique=False)
        batch_op.create_index(batch_op.f("ix_catalogue_pair_pair_id"), ["pair_id"], unique=False)

    op.create_table(
        "catalogue_picture",
        sa.Column("catalogue_id", sa.Integer(), nullable=False),
        sa.Column("picture_id", sa.Integer(), nullable=False),
        sa.Column("file", sa.String(length=200), nullable=False),
        sa.Column("place", sa.Integer(), nullable=False),
        sa.Column("extra", sa.JSON(), nullable=False),
        sa.Column("accepted_by", sa.Integer(), nullable=True),
        sa.Column("retired_at", sa.DateTime(timezone=True), nullable=True),
        sa.ForeignKeyConstraint(
            ["accepted_by"], ["account.id"], name=op.f("fk_catalogue_picture_accepted_by_account"), ondelete="SET NULL"
        ),
        sa.ForeignKeyConstraint(
            ["catalogue_id"], ["catalogue.id"], name=op.f("fk_catalogue_picture_catalogue_id_catalogue"), ondelete="CASCADE"
        ),
        sa.ForeignKeyConstraint(["picture_id"], ["picture.id"], name=op.f("fk_catalogue_picture_picture_id_picture"), ondelete="RESTRICT"),
        sa.PrimaryKeyConstraint("catalogue_id", "picture_id", name=op.f("pk_catalogue_picture")),
        sa.UniqueConstraint("catalogue_id", "file", name=op.f("uq_catalogue_picture_catalogue_id_file")),
    )
    with op.batch_alter_table("catalogue_picture", schema=None) as batch_op:
        batch_op.create_index(batch_op.f("ix_catalogue_picture_accepted_by"), ["accepted_by"], unique=False)
        batch_op.create_index(batch_op.f("ix_catalogue_picture_picture_id"), ["picture_id"], unique=False)

    op.create_table(
        "file",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("picture_id", sa.Integer(), nullable=False),
        sa.Column("size_name", sa.String(length=24), nullable=False),
        sa.Column("recipe", sa.String(length=32), nullable=False),
        sa.Column("storage_key", sa.String(length=120), nullable=False),
        sa.Column("media_type", sa.String(length=40), nullable=False),
        sa.Column("width_px", sa.Integer(), nullable=False),
        sa.Column("height_px", sa.Integer(), nullable=False),
        sa.Column("bytes", sa.Integer(), nullable=False),
        sa.ForeignKeyConstraint(["picture_id"], ["picture.id"], name=op.f("fk_file_picture_id_picture"), ondelete="CASCADE"),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_file")),
        sa.UniqueConstraint("picture_id", "recipe", name=op.f("uq_file_picture_id_recipe")),
        sa.UniqueConstraint("picture_id", "size_name", name=op.f("uq_file_picture_id_size_name")),
    )
    with op.batch_alter_table("file", schema=None) as batch_op:
        batch_op.create_index(batch_op.f("ix_file_picture_id"), ["picture_id"], unique=False)

    op.create_table(
        "form_trait",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("catalogue_form_id", sa.Integer(), nullable=False),
        sa.Column("state_id", sa.Integer(), nullable=False),
        sa.Column("word", sa.String(length=16), nullable=False),
        sa.Column("shown", sa.Integer(), nullable=True),
        sa.Column("of", sa.Integer(), nullable=True),
        sa.CheckConstraint("(word = '') = (shown IS NOT NULL AND of IS NOT NULL)", name=op.f("ck_form_trait_word_or_counts")),
        sa.CheckConstraint("shown IS NULL OR (shown >= 0 AND shown <= of)", name=op.f("ck_form_trait_counts")),
        sa.ForeignKeyConstraint(
            ["catalogue_form_id"], ["catalogue_form.id"], name=op.f("fk_form_trait_catalogue_form_id_catalogue_form"), ondelete="CASCADE"
        ),
        sa.ForeignKeyConstraint(["state_id"], ["state.id"], name=op.f("fk_form_trait_state_id_state"), ondelete="CASCADE"),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_form_trait")),
        sa.UniqueConstraint("catalogue_form_id", "state_id", name=op.f("uq_form_trait_catalogue_form_id_state_id")),
    )
    with op.batch_alter_table("form_trait", schema=None) as batch_op:
        batch_op.create_index(batch_op.f("ix_form_trait_catalogue_form_id"), ["catalogue_form_id"], unique=False)
        batch_op.create_index(batch_op.f("ix_form_trait_state_id"), ["state_id"], unique=False)

    op.create_table(
        "mark",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("picture_id", sa.Integer(), nullable=False),
        sa.Column("trait_id", sa.Integer(), nullable=False),
        sa.Column("x", sa.Double(), nullable=False),
        sa.Column("y", sa.Double(), nullable=False),
        sa.Column("width", sa.Double(), nullable=False),
        sa.Column("height", sa.Double(), nullable=False),
        sa.CheckConstraint("x + width <= 1.000001 AND y + height <= 1.000001", name=op.f("ck_mark_inside")),
        sa.CheckConstraint("x >= 0 AND y >= 0 AND width > 0 AND height > 0", name=op.f("ck_mark_corner")),
        sa.ForeignKeyConstraint(["picture_id"], ["picture.id"], name=op.f("fk_mark_picture_id_picture"), ondelete="CASCADE"),
        sa.ForeignKeyConstraint(["trait_id"], ["trait.id"], name=op.f("fk_mark_trait_id_trait"), ondelete="CASCADE"),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_mark")),
        sa.UniqueConstraint("picture_id", "trait_id", name=op.f("uq_mark_picture_id_trait_id")),
    )
    with op.batch_alter_table("mark", schema=None) as batch_op:
        batch_op.create_index(batch_op.f("ix_mark_picture_id"), ["picture_id"], unique=False)
        batch_op.create_index(batch_op.f("ix_mark_trait_id"), ["trait_id"], unique=False)

    op.create_table(
        "memory",
        sa.Column("account_id", sa.Integer(), nullable=False),
        sa.Column("pair_id", sa.Integer(), nullable=False),
        sa.Column("stability_days", sa.Double(), nullable=False),
        sa.Column("difficulty", sa.Double(), nullable=False),
        sa.Column("last_day", sa.Date(), nullable=False),
        sa.Column("rounds", sa.Integer(), nullable=False),
        sa.Column("held_running", sa.Integer(), nullable=False),
        sa.Column("last_outcome", sa.String(length=16), nullable=False),
        sa.Column("due_day", sa.Date(), nullable=False),
        sa.ForeignKeyConstraint(["account_id"], ["account.id"], name=op.f("fk_memory_account_id_account"), ondelete="CASCADE"),
        sa.ForeignKeyConstraint(["pair_id"], ["pair.id"], name=op.f("fk_memory_pair_id_pair"), ondelete="RESTRICT"),
        sa.PrimaryKeyConstraint("account_id", "pair_id", name=op.f("pk_memory")),
    )
    with op.batch_alter_table("memory", schema=None) as batch_op:
        batch_op.create_index("ix_memory_account_due", ["account_id", "due_day"], unique=False)
        batch_op.create_index(batch_op.f("ix_memory_pair_id"), ["pair_id"], unique=False)

    op.create_table(
        "rights",
        sa.Column("picture_id", sa.Integer(), nullable=False),
        sa.Column("creator", sa.String(length=200), nullable=False),
        sa.Column("licence", sa.String(length=60), nullable=False),
        sa.Column("licence_url", sa.String(length=300), nullable=False),
        sa.Column("credit", sa.String(length=300), nullable=False),
        sa.Column("rights_owner", sa.String(length=200), nullable=False),
        sa.Column("source", sa.String(length=300), nullable=False),
        sa.Column("title", sa.String(length=300), nullable=False),
        sa.Column("statement", sa.Text(), nullable=False),
        sa.Column("agreed", sa.String(length=80), nullable=False),
        sa.Column("may_group", sa.Boolean(), nullable=False),
        sa.Column("may_public", sa.Boolean(), nullable=False),
        sa.Column("may_alter", sa.Boolean(), nullable=False),
        sa.Column("may_paid", sa.Boolean(), nullable=False),
        sa.Column("may_until", sa.Date(), nullable=True),
        sa.ForeignKeyConstraint(["picture_id"], ["picture.id"], name=op.f("fk_rights_picture_id_picture"), ondelete="CASCADE"),
        sa.PrimaryKeyConstraint("picture_id", name=op.f("pk_rights")),
    )
    op.create_table(
        "round",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("drill_id", sa.String(length=36), nullable=False),
        sa.Column("account_id", sa.Integer(), nullable=False),
        sa.Column("pair_id", sa.Integer(), nullable=False),
        sa.Column("catalogue_id", sa.Integer(), nullable=False),
        sa.Column("place", sa.Integer(), nullable=False),
        sa.Column("why", sa.String(length=16), nullable=False),
        sa.Column("rounds_before", sa.Integer(), nullable=False),
        sa.ForeignKeyConstraint(["account_id"], ["account.id"], name=op.f("fk_round_account_id_account"), ondelete="CASCADE"),
        sa.ForeignKeyConstraint(["catalogue_id"], ["catalogue.id"], name=op.f("fk_round_catalogue_id_catalogue"), ondelete="RESTRICT"),
        sa.ForeignKeyConstraint(["drill_id"], ["drill.id"], name=op.f("fk_round_drill_id_drill"), ondelete="CASCADE"),
        sa.ForeignKeyConstraint(["pair_id"], ["pair.id"], name=op.f("fk_round_pair_id_pair"), ondelete="RESTRICT"),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_round")),
        sa.UniqueConstraint("drill_id", "place", name=op.f("uq_round_drill_id_place")),
    )
    with op.batch_alter_table("round", schema=None) as batch_op:
        batch_op.create_index("ix_round_account_pair", ["account_id", "pair_id"], unique=False)
        batch_op.create_index(batch_op.f("ix_round_catalogue_id"), ["catalogue_id"], unique=False)
        batch_op.create_index(batch_op.f("ix_round_pair_id"), ["pair_id"], unique=False)

    op.create_table(
        "sight",
        sa.Column("account_id", sa.Integer(), nullable=False),
        sa.Column("picture_id", sa.Integer(), nullable=False),
        sa.Column("first_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("last_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("times", sa.Integer(), nullable=False),
        sa.ForeignKeyConstraint(["account_id"], ["account.id"], name=op.f("fk_sight_account_id_account"), ondelete="CASCADE"),
        sa.ForeignKeyConstraint(["picture_id"], ["picture.id"], name=op.f("fk_sight_picture_id_picture"), ondelete="RESTRICT"),
        sa.PrimaryKeyConstraint("account_id", "picture_id", name=op.f("pk_sight")),
    )
    with op.batch_alter_table("sight", schema=None) as batch_op:
        batch_op.create_index(batch_op.f("ix_sight_picture_id"), ["picture_id"], unique=False)

    op.create_table(
        "tally",
        sa.Column("account_id", sa.Integer(), nullable=False),
        sa.Column("pair_id", sa.Integer(), nullable=False),
        sa.Column("shown_form_id", sa.Integer(), nullable=False),
        sa.Column("said_form_id", sa.Integer(), nullable=False),
        sa.Column("week", sa.Integer(), nullable=False),
        sa.Column("fresh", sa.Boolean(), nullable=False),
        sa.Column("prompted", sa.Boolean(), nullable=False),
        sa.Column("rendition", sa.String(length=16), nullable=False),
        sa.Column("orientation", sa.String(length=24), nullable=False),
        sa.Column("choices", sa.Integer(), nullable=False),
        sa.Column("count", sa.Integer(), nullable=False),
        sa.ForeignKeyConstraint(["account_id"], ["account.id"], name=op.f("fk_tally_account_id_account"), ondelete="CASCADE"),
        sa.ForeignKeyConstraint(["pair_id"], ["pair.id"], name=op.f("fk_tally_pair_id_pair"), ondelete="RESTRICT"),
        sa.PrimaryKeyConstraint(
            "account_id",
            "pair_id",
            "shown_form_id",
            "said_form_id",
            "week",
            "fresh",
            "prompted",
            "rendition",
            "orientation",
            "choices",
            name=op.f("pk_tally"),
        ),
    )
    with op.batch_alter_table("tally", schema=None) as batch_op:
        batch_op.create_index(batch_op.f("ix_tally_pair_id"), ["pair_id"], unique=False)

    op.create_table(
        "showing",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("round_id", sa.Integer(), nullable=False),
        sa.Column("account_id", sa.Integer(), nullable=False),
        sa.Column("place", sa.Integer(), nullable=False),
        sa.Column("picture_id", sa.Integer(), nullable=False),
        sa.Column("form_id", sa.Integer(), nullable=False),
        sa.Column("rendition", sa.String(length=16), nullable=False),
        sa.Column("orientation", sa.String(length=24), nullable=False),
        sa.Column("first_sight", sa.Boolean(), nullable=False),
        sa.Column("fresh", sa.Boolean(), nullable=False),
        sa.Column("prompted", sa.Boolean(), nullable=False),
        sa.Column("third", sa.Boolean(), nullable=False),
        sa.Column("asks", sa.JSON(), nullable=False),
        sa.ForeignKeyConstraint(["account_id"], ["account.id"], name=op.f("fk_showing_account_id_account"), ondelete="CASCADE"),
        sa.ForeignKeyConstraint(["form_id"], ["form.id"], name=op.f("fk_showing_form_id_form"), ondelete="RESTRICT"),
        sa.ForeignKeyConstraint(["picture_id"], ["picture.id"], name=op.f("fk_showing_picture_id_picture"), ondelete="RESTRICT"),
        sa.ForeignKeyConstraint(["round_id"], ["round.id"], name=op.f("fk_showing_round_id_round"), ondelete="CASCADE"),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_showing")),
        sa.UniqueConstraint("round_id", "place", name=op.f("uq_showing_round_id_place")),
    )
    with op.batch_alter_table("showing", schema=None) as batch_op:
        batch_op.create_index("ix_showing_account_picture", ["account_id", "picture_id"], unique=False)
        batch_op.create_index(batch_op.f("ix_showing_form_id"), ["form_id"], unique=False)
        batch_op.create_index(batch_op.f("ix_showing_picture_id"), ["picture_id"], unique=False)

    op.create_table(
        "stage_pair",
        sa.Column("stage_id", sa.Integer(), nullable=False),
        sa.Column("catalogue_pair_id", sa.Integer(), nullable=False),
        sa.Column("place", sa.Integer(), nullable=False),
        sa.ForeignKeyConstraint(
            ["catalogue_pair_id"], ["catalogue_pair.id"], name=op.f("fk_stage_pair_catalogue_pair_id_catalogue_pair"), ondelete="CASCADE"
        ),
        sa.ForeignKeyConstraint(["stage_id"], ["stage.id"], name=op.f("fk_stage_pair_stage_id_stage"), ondelete="CASCADE"),
        sa.PrimaryKeyConstraint("stage_id", "catalogue_pair_id", name=op.f("pk_stage_pair")),
    )
    with op.batch_alter_table("stage_pair", schema=None) as batch_op:
        batch_op.create_index(batch_op.f("ix_stage_pair_catalogue_pair_id"), ["catalogue_pair_id"], unique=False)

    op.create_table(
        "third",
        sa.Column("catalogue_pair_id", sa.Integer(), nullable=False),
        sa.Column("catalogue_form_id", sa.Integer(), nullable=False),
        sa.Column("trait_id", sa.Integer(), nullable=False),
        sa.ForeignKeyConstraint(
            ["catalogue_form_id"], ["catalogue_form.id"], name=op.f("fk_third_catalogue_form_id_catalogue_form"), ondelete="CASCADE"
        ),
        sa.ForeignKeyConstraint(
            ["catalogue_pair_id"], ["catalogue_pair.id"], name=op.f("fk_third_catalogue_pair_id_catalogue_pair"), ondelete="CASCADE"
        ),
        sa.ForeignKeyConstraint(["trait_id"], ["trait.id"], name=op.f("fk_third_trait_id_trait"), ondelete="CASCADE"),
        sa.PrimaryKeyConstraint("catalogue_pair_id", "catalogue_form_id", "trait_id", name=op.f("pk_third")),
    )
    with op.batch_alter_table("third", schema=None) as batch_op:
        batch_op.create_index(batch_op.f("ix_third_catalogue_form_id"), ["catalogue_form_id"], unique=False)
        batch_op.create_index(batch_op.f("ix_third_trait_id"), ["trait_id"], unique=False)

    op.create_table(
        "answer",
        sa.Column("id", sa.String(length=36), nullable=False),
        sa.Column("showing_id", sa.Integer(), nullable=False),
        sa.Column("account_id", sa.Integer(), nullable=False),
        sa.Column("ask", sa.Integer(), nullable=False),
        sa.Column("said", sa.String(length=80), nullable=False),
        sa.Column("sure", sa.String(length=8), nullable=True),
        sa.Column("seconds", sa.Double(), nullable=False),
        sa.Column("hint", sa.Boolean(), nullable=False),
        sa.Column("at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("phone_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("received_at", sa.DateTime(timezone=True), nullable=False),
        sa.CheckConstraint("seconds >= 0", name=op.f("ck_answer_seconds")),
        sa.ForeignKeyConstraint(["account_id"], ["account.id"], name=op.f("fk_answer_account_id_account"), ondelete="CASCADE"),
        sa.ForeignKeyConstraint(["showing_id"], ["showing.id"], name=op.f("fk_answer_showing_id_showing"), ondelete="RESTRICT"),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_answer")),
    )
    with op.batch_alter_table("answer", schema=None) as batch_op:
        batch_op.create_index("ix_answer_account_at", ["account_id", "at"], unique=False)
        batch_op.create_index("ix_answer_showing_ask", ["showing_id", "ask"], unique=False)


def downgrade() -> None:
    with op.batch_alter_table("answer", schema=None) as batch_op:
        batch_op.drop_index("ix_answer_showing_ask")
        batch_op.drop_index("ix_answer_account_at")

    op.drop_table("answer")
    with op.batch_alter_table("third", schema=None) as batch_op:
        batch_op.drop_index(batch_op.f("ix_third_trait_id"))
        batch_op.drop_index(batch_op.f("ix_third_catalogue_form_id"))

    op.drop_table("third")
    with op.batch_alter_table("stage_pair", schema=None) as batch_op:
        batch_op.drop_index(batch_op.f("ix_stage_pair_catalogue_pair_id"))

    op.drop_table("stage_pair")
    with op.batch_alter_table("showing", schema=None) as batch_op:
        batch_op.drop_index(batch_op.f("ix_showing_picture_id"))
        batch_op.drop_index(batch_op.f("ix_showing_form_id"))
        batch_op.drop_index("ix_showing_account_picture")

    op.drop_table("showing")
    with op.batch_alter_table("tally", schema=None) as batch_op:
        batch_op.drop_index(batch_op.f("ix_tally_pair_id"))

    op.drop_table("tally")
    with op.batch_alter_table("sight", schema=None) as batch_op:
        batch_op.drop_index(batch_op.f("ix_sight_picture_id"))

    op.drop_table("sight")
    with op.batch_alter_table("round", schema=None) as batch_op:
        batch_op.drop_index(batch_op.f("ix_round_pair_id"))
        batch_op.drop_index(batch_op.f("ix_round_catalogue_id"))
        batch_op.drop_index("ix_round_account_pair")

    op.drop_table("round")
    op.drop_table("rights")
    with op.batch_alter_table("memory", schema=None) as batch_op:
        batch_op.drop_index(batch_op.f("ix_memory_pair_id"))
        batch_op.drop_index("ix_memory_account_due")

    op.drop_table("memory")
    with op.batch_alter_table("mark", schema=None) as batch_op:
        batch_op.drop_index(batch_op.f("ix_mark_trait_id"))
        batch_op.drop_index(batch_op.f("ix_mark_picture_id"))

    op.drop_table("mark")
    with op.batch_alter_table("form_trait", schema=None) as batch_op:
        batch_op.drop_index(batch_op.f("ix_form_trait_state_id"))
        batch_op.drop_index(batch_op.f("ix_form_trait_catalogue_form_id"))

    op.drop_table("form_trait")
    with op.batch_alter_table("file", schema=None) as batch_op:
        batch_op.drop_index(batch_op.f("ix_file_picture_id"))

    op.drop_table("file")
    with op.batch_alter_table("catalogue_picture", schema=None) as batch_op:
        batch_op.drop_index(batch_op.f("ix_catalogue_picture_picture_id"))
        batch_op.drop_index(batch_op.f("ix_catalogue_picture_accepted_by"))

    op.drop_table("catalogue_picture")
    with op.batch_alter_table("catalogue_pair", schema=None) as batch_op:
        batch_op.drop_index(batch_op.f("ix_catalogue_pair_pair_id"))
        batch_op.drop_index(batch_op.f("ix_catalogue_pair_catalogue_id"))

    op.drop_table("catalogue_pair")
    with op.batch_alter_table("taken_set", schema=None) as batch_op:
        batch_op.drop_index(batch_op.f("ix_taken_set_pair_set_id"))

    op.drop_table("taken_set")
    with op.batch_alter_table("state", schema=None) as batch_op:
        batch_op.drop_index(batch_op.f("ix_state_trait_id"))

    op.drop_table("state")
    with op.batch_alter_table("stage", schema=None) as batch_op:
        batch_op.drop_index(batch_op.f("ix_stage_pair_set_id"))

    op.drop_table("stage")
    with op.batch_alter_table("picture", schema=None) as batch_op:
        batch_op.drop_index(batch_op.f("ix_picture_owner_id"))
        batch_op.drop_index(batch_op.f("ix_picture_form_id"))
        batch_op.drop_index(batch_op.f("ix_picture_content_sha256"))

    op.drop_table("picture")
    with op.batch_alter_table("pair", schema=None) as batch_op:
        batch_op.drop_index(batch_op.f("ix_pair_second_form_id"))
        batch_op.drop_index(batch_op.f("ix_pair_first_form_id"))

    op.drop_table("pair")
    with op.batch_alter_table("catalogue_form", schema=None) as batch_op:
        batch_op.drop_index(batch_op.f("ix_catalogue_form_vernacular_id"))
        batch_op.drop_index(batch_op.f("ix_catalogue_form_name_id"))
        batch_op.drop_index(batch_op.f("ix_catalogue_form_form_id"))
        batch_op.drop_index(batch_op.f("ix_catalogue_form_catalogue_id"))

    op.drop_table("catalogue_form")
    with op.batch_alter_table("vernacular", schema=None) as batch_op:
        batch_op.drop_index(batch_op.f("ix_vernacular_concept_id"))

    op.drop_table("vernacular")
    with op.batch_alter_table("trait", schema=None) as batch_op:
        batch_op.drop_index(batch_op.f("ix_trait_catalogue_id"))

    op.drop_table("trait")
    with op.batch_alter_table("steward", schema=None) as batch_op:
        batch_op.drop_index(batch_op.f("ix_steward_account_id"))

    op.drop_table("steward")
    with op.batch_alter_table("sign_in", schema=None) as batch_op:
        batch_op.drop_index(batch_op.f("ix_sign_in_account_id"))

    op.drop_table("sign_in")
    with op.batch_alter_table("pair_set", schema=None) as batch_op:
        batch_op.drop_index(batch_op.f("ix_pair_set_catalogue_id"))

    op.drop_table("pair_set")
    with op.batch_alter_table("one_time_link", schema=None) as batch_op:
        batch_op.drop_index(batch_op.f("ix_one_time_link_account_id"))

    op.drop_table("one_time_link")
    with op.batch_alter_table("name", schema=None) as batch_op:
        batch_op.drop_index(batch_op.f("ix_name_concept_id"))

    op.drop_table("name")
    with op.batch_alter_table("invitation", schema=None) as batch_op:
        batch_op.drop_index(batch_op.f("ix_invitation_made_by"))

    op.drop_table("invitation")
    with op.batch_alter_table("form", schema=None) as batch_op:
        batch_op.drop_index(batch_op.f("ix_form_concept_id"))

    op.drop_table("form")
    with op.batch_alter_table("drill", schema=None) as batch_op:
        batch_op.drop_index("ix_drill_account_planned")
        batch_op.drop_index(batch_op.f("ix_drill_account_id"))
        batch_op.drop_index("ix_drill_account_first")

    op.drop_table("drill")
    with op.batch_alter_table("audit", schema=None) as batch_op:
        batch_op.drop_index(batch_op.f("ix_audit_at"))
        batch_op.drop_index(batch_op.f("ix_audit_account_id"))

    op.drop_table("audit")
    op.drop_table("setting")
    op.drop_table("concept")
    op.drop_table("catalogue")
    op.drop_table("attempt")
    op.drop_table("account")
