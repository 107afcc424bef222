"""Share pictures: groups, shares, offers, corrected labels, frames, and more of their rights."""

import sqlalchemy as sa
from alembic import op

revision = "20261126_share_pictures"
down_revision = "20261125_open_the_hall"
branch_labels = None
depends_on = None

CHECKS = {
    "both_or_none": "(either_form_id IS NULL) = (or_form_id IS NULL)",
    "either_or": "either_form_id IS NULL OR (form_id IS NULL AND either_form_id <> or_form_id)",
    "whole_frame": "(frame_x IS NULL) = (frame_y IS NULL) AND (frame_x IS NULL) = (frame_width IS NULL)"
    " AND (frame_x IS NULL) = (frame_height IS NULL)",
    "frame_inside": "frame_x IS NULL OR (frame_x >= 0 AND frame_y >= 0 AND frame_width > 0 AND frame_height > 0"
    " AND frame_x + frame_width <= 1.000001 AND frame_y + frame_height <= 1.000001)",
}


def upgrade() -> None:
    op.create_table(
        "group",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("public_id", sa.String(length=36), nullable=False),
        sa.Column("title", sa.String(length=120), nullable=False),
        sa.Column("kind", sa.String(length=8), nullable=False),
        sa.Column("is_paid", sa.Boolean(), nullable=False),
        sa.Column("made_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("retired_at", sa.DateTime(timezone=True), nullable=True),
        sa.CheckConstraint("kind IN ('club', 'class')", name=op.f("ck_group_kind")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_group")),
        sa.UniqueConstraint("public_id", name=op.f("uq_group_public_id")),
    )
    op.create_table(
        "membership",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("group_id", sa.Integer(), nullable=False),
        sa.Column("account_id", sa.Integer(), nullable=False),
        sa.Column("role", sa.String(length=8), nullable=False),
        sa.Column("since", sa.DateTime(timezone=True), nullable=False),
        sa.Column("until", sa.DateTime(timezone=True), nullable=True),
        sa.Column("lets_leader_see", sa.Boolean(), nullable=False),
        sa.CheckConstraint("role IN ('member', 'leader', 'teacher')", name=op.f("ck_membership_role")),
        sa.ForeignKeyConstraint(["account_id"], ["account.id"], name=op.f("fk_membership_account_id_account"), ondelete="CASCADE"),
        sa.ForeignKeyConstraint(["group_id"], ["group.id"], name=op.f("fk_membership_group_id_group"), ondelete="CASCADE"),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_membership")),
    )
    with op.batch_alter_table("membership", schema=None) as batch_op:
        batch_op.create_index(batch_op.f("ix_membership_account_id"), ["account_id"], unique=False)
        batch_op.create_index(batch_op.f("ix_membership_group_id"), ["group_id"], unique=False)
        batch_op.create_index(
            "uq_membership_running",
            ["group_id", "account_id"],
            unique=True,
            sqlite_where=sa.text("until IS NULL"),
            postgresql_where=sa.text("until IS NULL"),
        )

    op.create_table(
        "label_change",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("picture_id", sa.Integer(), nullable=False),
        sa.Column("from_form_id", sa.Integer(), nullable=True),
        sa.Column("to_form_id", sa.Integer(), nullable=True),
        sa.Column("either_form_id", sa.Integer(), nullable=True),
        sa.Column("or_form_id", sa.Integer(), nullable=True),
        sa.Column("by_id", sa.Integer(), nullable=True),
        sa.Column("at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("note", sa.String(length=300), nullable=False),
        sa.Column("undone_at", sa.DateTime(timezone=True), nullable=True),
        sa.Column("undone_by", sa.Integer(), nullable=True),
        sa.ForeignKeyConstraint(["by_id"], ["account.id"], name=op.f("fk_label_change_by_id_account"), ondelete="SET NULL"),
        sa.ForeignKeyConstraint(["either_form_id"], ["form.id"], name=op.f("fk_label_change_either_form_id_form"), ondelete="RESTRICT"),
        sa.ForeignKeyConstraint(["from_form_id"], ["form.id"], name=op.f("fk_label_change_from_form_id_form"), ondelete="RESTRICT"),
        sa.ForeignKeyConstraint(["or_form_id"], ["form.id"], name=op.f("fk_label_change_or_form_id_form"), ondelete="RESTRICT"),
        sa.ForeignKeyConstraint(["picture_id"], ["picture.id"], name=op.f("fk_label_change_picture_id_picture"), ondelete="RESTRICT"),
        sa.ForeignKeyConstraint(["to_form_id"], ["form.id"], name=op.f("fk_label_change_to_form_id_form"), ondelete="RESTRICT"),
        sa.ForeignKeyConstraint(["undone_by"], ["account.id"], name=op.f("fk_label_change_undone_by_account"), ondelete="SET NULL"),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_label_change")),
    )
    with op.batch_alter_table("label_change", schema=None) as batch_op:
        batch_op.create_index(batch_op.f("ix_label_change_by_id"), ["by_id"], unique=False)
        batch_op.create_index(batch_op.f("ix_label_change_either_form_id"), ["either_form_id"], unique=False)
        batch_op.create_index(batch_op.f("ix_label_change_from_form_id"), ["from_form_id"], unique=False)
        batch_op.create_index(batch_op.f("ix_label_change_or_form_id"), ["or_form_id"], unique=False)
        batch_op.create_index(batch_op.f("ix_label_change_picture_id"), ["picture_id"], unique=False)
        batch_op.create_index(batch_op.f("ix_label_change_to_form_id"), ["to_form_id"], unique=False)
        batch_op.create_index(batch_op.f("ix_label_change_undone_by"), ["undone_by"], unique=False)

    op.create_table(
        "picture_offer",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("picture_id", sa.Integer(), nullable=False),
        sa.Column("catalogue_id", sa.Integer(), nullable=False),
        sa.Column("offered_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("decision", sa.String(length=12), nullable=False),
        sa.Column("decided_at", sa.DateTime(timezone=True), nullable=True),
        sa.Column("decided_by", sa.Integer(), nullable=True),
        sa.Column("note", sa.String(length=300), nullable=False),
        sa.CheckConstraint("decision IN ('', 'accepted', 'declined', 'taken back')", name=op.f("ck_picture_offer_decision")),
        sa.ForeignKeyConstraint(
            ["catalogue_id"], ["catalogue.id"], name=op.f("fk_picture_offer_catalogue_id_catalogue"), ondelete="CASCADE"
        ),
        sa.ForeignKeyConstraint(["decided_by"], ["account.id"], name=op.f("fk_picture_offer_decided_by_account"), ondelete="SET NULL"),
        sa.ForeignKeyConstraint(["picture_id"], ["picture.id"], name=op.f("fk_picture_offer_picture_id_picture"), ondelete="CASCADE"),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_picture_offer")),
    )
    with op.batch_alter_table("picture_offer", schema=None) as batch_op:
        batch_op.create_index(batch_op.f("ix_picture_offer_catalogue_id"), ["catalogue_id"], unique=False)
        batch_op.create_index(batch_op.f("ix_picture_offer_decided_by"), ["decided_by"], unique=False)
        batch_op.create_index(batch_op.f("ix_picture_offer_picture_id"), ["picture_id"], unique=False)
        batch_op.create_index(
            "uq_picture_offer_open",
            ["picture_id", "catalogue_id"],
            unique=True,
            sqlite_where=sa.text("decision = ''"),
            postgresql_where=sa.text("decision = ''"),
        )

    op.create_table(
        "picture_share",
        sa.Column("picture_id", sa.Integer(), nullable=False),
        sa.Column("group_id", sa.Integer(), nullable=False),
        sa.Column("shared_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("ended_at", sa.DateTime(timezone=True), nullable=True),
        sa.ForeignKeyConstraint(["group_id"], ["group.id"], name=op.f("fk_picture_share_group_id_group"), ondelete="CASCADE"),
        sa.ForeignKeyConstraint(["picture_id"], ["picture.id"], name=op.f("fk_picture_share_picture_id_picture"), ondelete="CASCADE"),
        sa.PrimaryKeyConstraint("picture_id", "group_id", name=op.f("pk_picture_share")),
    )
    with op.batch_alter_table("picture_share", schema=None) as batch_op:
        batch_op.create_index(batch_op.f("ix_picture_share_group_id"), ["group_id"], unique=False)

    op.create_table(
        "pictures_apart",
        sa.Column("catalogue_id", sa.Integer(), nullable=False),
        sa.Column("first_picture_id", sa.Integer(), nullable=False),
        sa.Column("second_picture_id", sa.Integer(), nullable=False),
        sa.Column("said_by", sa.Integer(), nullable=True),
        sa.Column("said_at", sa.DateTime(timezone=True), nullable=False),
        sa.CheckConstraint("first_picture_id < second_picture_id", name=op.f("ck_pictures_apart_order")),
        sa.ForeignKeyConstraint(
            ["catalogue_id"], ["catalogue.id"], name=op.f("fk_pictures_apart_catalogue_id_catalogue"), ondelete="CASCADE"
        ),
        sa.ForeignKeyConstraint(
            ["first_picture_id"], ["picture.id"], name=op.f("fk_pictures_apart_first_picture_id_picture"), ondelete="CASCADE"
        ),
        sa.ForeignKeyConstraint(
            ["second_picture_id"], ["picture.id"], name=op.f("fk_pictures_apart_second_picture_id_picture"), ondelete="CASCADE"
        ),
        sa.ForeignKeyConstraint(["said_by"], ["account.id"], name=op.f("fk_pictures_apart_said_by_account"), ondelete="SET NULL"),
        sa.PrimaryKeyConstraint("catalogue_id", "first_picture_id", "second_picture_id", name=op.f("pk_pictures_apart")),
    )
    with op.batch_alter_table("pictures_apart", schema=None) as batch_op:
        batch_op.create_index(batch_op.f("ix_pictures_apart_first_picture_id"), ["first_picture_id"], unique=False)
        batch_op.create_index(batch_op.f("ix_pictures_apart_said_by"), ["said_by"], unique=False)
        batch_op.create_index(batch_op.f("ix_pictures_apart_second_picture_id"), ["second_picture_id"], unique=False)

    with op.batch_alter_table("account", schema=None) as batch_op:
        batch_op.add_column(sa.Column("keep_originals", sa.Boolean(), nullable=False, server_default=sa.true()))

    with op.batch_alter_table("catalogue_form", schema=None) as batch_op:
        batch_op.add_column(sa.Column("length_mm", sa.Integer(), nullable=True))
        batch_op.create_check_constraint(batch_op.f("ck_catalogue_form_length"), "length_mm IS NULL OR length_mm > 0")

    with op.batch_alter_table("catalogue_picture", schema=None) as batch_op:
        batch_op.add_column(sa.Column("checked_by", sa.Integer(), nullable=True))
        batch_op.add_column(sa.Column("checked_at", sa.DateTime(timezone=True), nullable=True))
        batch_op.create_index(batch_op.f("ix_catalogue_picture_checked_by"), ["checked_by"], unique=False)
        batch_op.create_foreign_key(
            batch_op.f("fk_catalogue_picture_checked_by_account"), "account", ["checked_by"], ["id"], ondelete="SET NULL"
        )

    with op.batch_alter_table("file", schema=None) as batch_op:
        batch_op.add_column(sa.Column("rendition", sa.String(length=16), nullable=False, server_default="as taken"))
        batch_op.add_column(sa.Column("sha256", sa.String(length=64), nullable=False, server_default=""))

    with op.batch_alter_table("invitation", schema=None) as batch_op:
        batch_op.add_column(sa.Column("group_id", sa.Integer(), nullable=True))
        batch_op.create_index(batch_op.f("ix_invitation_group_id"), ["group_id"], unique=False)
        batch_op.create_foreign_key(batch_op.f("fk_invitation_group_id_group"), "group", ["group_id"], ["id"], ondelete="CASCADE")

    with op.batch_alter_table("mark", schema=None) as batch_op:
        batch_op.alter_column("trait_id", existing_type=sa.INTEGER(), nullable=True)
        batch_op.create_index(
            "uq_mark_subject",
            ["picture_id"],
            unique=True,
            sqlite_where=sa.text("trait_id IS NULL"),
            postgresql_where=sa.text("trait_id IS NULL"),
        )

    with op.batch_alter_table("picture", schema=None) as batch_op:
        batch_op.add_column(sa.Column("either_form_id", sa.Integer(), nullable=True))
        batch_op.add_column(sa.Column("or_form_id", sa.Integer(), nullable=True))
        batch_op.add_column(sa.Column("sex", sa.String(length=40), nullable=False, server_default=""))
        batch_op.add_column(sa.Column("life_stage", sa.String(length=40), nullable=False, server_default=""))
        batch_op.add_column(sa.Column("plumage", sa.String(length=80), nullable=False, server_default=""))
        batch_op.add_column(sa.Column("variant", sa.String(length=80), nullable=False, server_default=""))
        batch_op.add_column(sa.Column("several", sa.Boolean(), nullable=False, server_default=sa.false()))
        batch_op.add_column(sa.Column("frame_x", sa.Double(), nullable=True))
        batch_op.add_column(sa.Column("frame_y", sa.Double(), nullable=True))
        batch_op.add_column(sa.Column("frame_width", sa.Double(), nullable=True))
        batch_op.add_column(sa.Column("frame_height", sa.Double(), nullable=True))
        batch_op.add_column(sa.Column("found", sa.JSON(), nullable=False, server_default=sa.text("'{}'")))
        batch_op.add_column(sa.Column("described_at", sa.DateTime(timezone=True), nullable=True))
        batch_op.create_index(batch_op.f("ix_picture_either_form_id"), ["either_form_id"], unique=False)
        batch_op.create_index(batch_op.f("ix_picture_or_form_id"), ["or_form_id"], unique=False)
        batch_op.create_foreign_key(batch_op.f("fk_picture_either_form_id_form"), "form", ["either_form_id"], ["id"], ondelete="RESTRICT")
        batch_op.create_foreign_key(batch_op.f("fk_picture_or_form_id_form"), "form", ["or_form_id"], ["id"], ondelete="RESTRICT")
        for name, held in CHECKS.items():
            batch_op.create_check_constraint(batch_op.f(f"ck_picture_{name}"), held)
    # Whatever was added before today was described as it was added.
    op.execute("UPDATE picture SET described_at = made_at")

    with op.batch_alter_table("rights", schema=None) as batch_op:
        batch_op.add_column(sa.Column("granted_by", sa.String(length=200), nullable=False, server_default=""))
        batch_op.add_column(sa.Column("granted_on", sa.Date(), nullable=True))
        batch_op.add_column(sa.Column("evidence", sa.Text(), nullable=False, server_default=""))
        batch_op.add_column(sa.Column("data_mining", sa.String(length=60), nullable=False, server_default=""))
        batch_op.alter_column("agreed", existing_type=sa.VARCHAR(length=80), type_=sa.String(length=120), existing_nullable=False)


def downgrade() -> None:
    with op.batch_alter_table("rights", schema=None) as batch_op:
        batch_op.alter_column("agreed", existing_type=sa.String(length=120), type_=sa.VARCHAR(length=80), existing_nullable=False)
        batch_op.drop_column("data_mining")
        batch_op.drop_column("evidence")
        batch_op.drop_column("granted_on")
        batch_op.drop_column("granted_by")

    with op.batch_alter_table("picture", schema=None) as batch_op:
        for name in CHECKS:
            batch_op.drop_constraint(batch_op.f(f"ck_picture_{name}"), type_="check")
        batch_op.drop_constraint(batch_op.f("fk_picture_or_form_id_form"), type_="foreignkey")
        batch_op.drop_constraint(batch_op.f("fk_picture_either_form_id_form"), type_="foreignkey")
        batch_op.drop_index(batch_op.f("ix_picture_or_form_id"))
        batch_op.drop_index(batch_op.f("ix_picture_either_form_id"))
        batch_op.drop_column("described_at")
        batch_op.drop_column("found")
        batch_op.drop_column("frame_height")
        batch_op.drop_column("frame_width")
        batch_op.drop_column("frame_y")
        batch_op.drop_column("frame_x")
        batch_op.drop_column("several")
        batch_op.drop_column("variant")
        batch_op.drop_column("plumage")
        batch_op.drop_column("life_stage")
        batch_op.drop_column("sex")
        batch_op.drop_column("or_form_id")
        batch_op.drop_column("either_form_id")

    op.execute("DELETE FROM mark WHERE trait_id IS NULL")
    with op.batch_alter_table("mark", schema=None) as batch_op:
        batch_op.drop_index("uq_mark_subject", sqlite_where=sa.text("trait_id IS NULL"), postgresql_where=sa.text("trait_id IS NULL"))
        batch_op.alter_column("trait_id", existing_type=sa.INTEGER(), nullable=False)

    with op.batch_alter_table("invitation", schema=None) as batch_op:
        batch_op.drop_constraint(batch_op.f("fk_invitation_group_id_group"), type_="foreignkey")
        batch_op.drop_index(batch_op.f("ix_invitation_group_id"))
        batch_op.drop_column("group_id")

    with op.batch_alter_table("file", schema=None) as batch_op:
        batch_op.drop_column("sha256")
        batch_op.drop_column("rendition")

    with op.batch_alter_table("catalogue_picture", schema=None) as batch_op:
        batch_op.drop_constraint(batch_op.f("fk_catalogue_picture_checked_by_account"), type_="foreignkey")
        batch_op.drop_index(batch_op.f("ix_catalogue_picture_checked_by"))
        batch_op.drop_column("checked_at")
        batch_op.drop_column("checked_by")

    with op.batch_alter_table("catalogue_form", schema=None) as batch_op:
        batch_op.drop_constraint(batch_op.f("ck_catalogue_form_length"), type_="check")
        batch_op.drop_column("length_mm")

    with op.batch_alter_table("account", schema=None) as batch_op:
        batch_op.drop_column("keep_originals")

    with op.batch_alter_table("pictures_apart", schema=None) as batch_op:
        batch_op.drop_index(batch_op.f("ix_pictures_apart_second_picture_id"))
        batch_op.drop_index(batch_op.f("ix_pictures_apart_said_by"))
        batch_op.drop_index(batch_op.f("ix_pictures_apart_first_picture_id"))

    op.drop_table("pictures_apart")
    with op.batch_alter_table("picture_share", schema=None) as batch_op:
        batch_op.drop_index(batch_op.f("ix_picture_share_group_id"))

    op.drop_table("picture_share")
    with op.batch_alter_table("picture_offer", schema=None) as batch_op:
        batch_op.drop_index("uq_picture_offer_open", sqlite_where=sa.text("decision = ''"), postgresql_where=sa.text("decision = ''"))
        batch_op.drop_index(batch_op.f("ix_picture_offer_picture_id"))
        batch_op.drop_index(batch_op.f("ix_picture_offer_decided_by"))
        batch_op.drop_index(batch_op.f("ix_picture_offer_catalogue_id"))

    op.drop_table("picture_offer")
    with op.batch_alter_table("label_change", schema=None) as batch_op:
        batch_op.drop_index(batch_op.f("ix_label_change_undone_by"))
        batch_op.drop_index(batch_op.f("ix_label_change_to_form_id"))
        batch_op.drop_index(batch_op.f("ix_label_change_picture_id"))
        batch_op.drop_index(batch_op.f("ix_label_change_or_form_id"))
        batch_op.drop_index(batch_op.f("ix_label_change_from_form_id"))
        batch_op.drop_index(batch_op.f("ix_label_change_either_form_id"))
        batch_op.drop_index(batch_op.f("ix_label_change_by_id"))

    op.drop_table("label_change")
    with op.batch_alter_table("membership", schema=None) as batch_op:
        batch_op.drop_index("uq_membership_running", sqlite_where=sa.text("until IS NULL"), postgresql_where=sa.text("until IS NULL"))
        batch_op.drop_index(batch_op.f("ix_membership_group_id"))
        batch_op.drop_index(batch_op.f("ix_membership_account_id"))

    op.drop_table("membership")
    op.drop_table("group")
