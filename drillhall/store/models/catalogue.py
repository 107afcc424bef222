"""Catalogues: what their stewards say of forms, traits, pairs, thirds and pictures, and the pair sets made from it."""

from __future__ import annotations

from datetime import datetime
from typing import Any

from sqlalchemy import JSON, CheckConstraint, ForeignKey, String, Text, UniqueConstraint
from sqlalchemy.orm import Mapped, mapped_column

from drillhall.store.base import Row


class CatalogueRow(Row):
    """One catalogue; `key` names it in files and addresses, `extra` keeps what a file said beyond our words."""

    __tablename__ = "catalogue"

    id: Mapped[int] = mapped_column(primary_key=True)
    key: Mapped[str] = mapped_column(String(80), unique=True)
    title: Mapped[str] = mapped_column(String(200))
    language: Mapped[str] = mapped_column(String(16), default="en")
    subject: Mapped[str] = mapped_column(String(40))
    list_name: Mapped[str] = mapped_column(String(200))
    note: Mapped[str] = mapped_column(Text, default="")
    extra: Mapped[dict[str, Any]] = mapped_column(JSON, default=dict)
    made_at: Mapped[datetime]
    changed_at: Mapped[datetime]
    retired_at: Mapped[datetime | None]


class StewardRow(Row):
    """An account that may write a catalogue."""

    __tablename__ = "steward"

    catalogue_id: Mapped[int] = mapped_column(ForeignKey("catalogue.id", ondelete="CASCADE"), primary_key=True)
    account_id: Mapped[int] = mapped_column(ForeignKey("account.id", ondelete="CASCADE"), primary_key=True, index=True)


class CatalogueFormRow(Row):
    """A form as a catalogue refers to it; `key` is its name in the catalogue's files.

    `name_id` and `vernacular_id` say which of the concept's names this catalogue uses; None leaves it to the hall.
    `length_mm` is how long the organism really is, for showing it as from afar; `commonness` a word for how common it is here and
    now; `also_named` what other lists call it, as {list, scientificName, vernacularName}; `called` what it is called in other
    languages than the catalogue's, as {language, vernacularName}.
    """

    __tablename__ = "catalogue_form"
    __table_args__ = (
        UniqueConstraint("catalogue_id", "key"),
        UniqueConstraint("catalogue_id", "form_id"),
        CheckConstraint("length_mm IS NULL OR length_mm > 0", name="length"),
    )

    id: Mapped[int] = mapped_column(primary_key=True)
    catalogue_id: Mapped[int] = mapped_column(ForeignKey("catalogue.id", ondelete="CASCADE"), index=True)
    form_id: Mapped[int] = mapped_column(ForeignKey("form.id", ondelete="RESTRICT"), index=True)
    name_id: Mapped[int | None] = mapped_column(ForeignKey("name.id", ondelete="RESTRICT"), index=True)
    vernacular_id: Mapped[int | None] = mapped_column(ForeignKey("vernacular.id", ondelete="RESTRICT"), index=True)
    key: Mapped[str] = mapped_column(String(80))
    length_mm: Mapped[int | None]
    commonness: Mapped[str] = mapped_column(String(16), default="")
    also_named: Mapped[list[dict[str, str]]] = mapped_column(JSON, default=list)
    called: Mapped[list[dict[str, str]]] = mapped_column(JSON, default=list)
    note: Mapped[str] = mapped_column(Text, default="")
    place: Mapped[int] = mapped_column(default=0)
    extra: Mapped[dict[str, Any]] = mapped_column(JSON, default=dict)
    retired_at: Mapped[datetime | None]


class TraitRow(Row):
    """One character with named states; `unit` is what it is measured in, empty where it is not.

    `said` is what it is called in other languages than the catalogue's, as {language: {label, ask}}.
    """

    __tablename__ = "trait"
    __table_args__ = (UniqueConstraint("catalogue_id", "key"),)

    id: Mapped[int] = mapped_column(primary_key=True)
    catalogue_id: Mapped[int] = mapped_column(ForeignKey("catalogue.id", ondelete="CASCADE"), index=True)
    key: Mapped[str] = mapped_column(String(80))
    label: Mapped[str] = mapped_column(String(120))
    ask: Mapped[str] = mapped_column(String(200), default="")
    part: Mapped[str] = mapped_column(String(40))
    kind: Mapped[str] = mapped_column(String(16))
    unit: Mapped[str] = mapped_column(String(16), default="")
    said: Mapped[dict[str, Any]] = mapped_column(JSON, default=dict)
    note: Mapped[str] = mapped_column(Text, default="")
    place: Mapped[int] = mapped_column(default=0)
    extra: Mapped[dict[str, Any]] = mapped_column(JSON, default=dict)
    retired_at: Mapped[datetime | None]


class StateRow(Row):
    """One state of a trait; `also_called` are words that mean the same.

    `said` is what it is called in other languages than the catalogue's, as {language: {label, also_called}}.
    """

    __tablename__ = "state"
    __table_args__ = (UniqueConstraint("trait_id", "key"),)

    id: Mapped[int] = mapped_column(primary_key=True)
    trait_id: Mapped[int] = mapped_column(ForeignKey("trait.id", ondelete="CASCADE"), index=True)
    key: Mapped[str] = mapped_column(String(80))
    label: Mapped[str] = mapped_column(String(120))
    also_called: Mapped[list[str]] = mapped_column(JSON, default=list)
    colour: Mapped[str] = mapped_column(String(7), default="")
    said: Mapped[dict[str, Any]] = mapped_column(JSON, default=dict)
    place: Mapped[int] = mapped_column(default=0)
    extra: Mapped[dict[str, Any]] = mapped_column(JSON, default=dict)
    retired_at: Mapped[datetime | None]


class FormTraitRow(Row):
    """How often a form shows a state: the author's word, or counts, never both; the chance is derived at reading."""

    __tablename__ = "form_trait"
    __table_args__ = (
        UniqueConstraint("catalogue_form_id", "state_id"),
        CheckConstraint("(word = '') = (shown IS NOT NULL AND of IS NOT NULL)", name="word_or_counts"),
        CheckConstraint("shown IS NULL OR (shown >= 0 AND shown <= of)", name="counts"),
    )

    id: Mapped[int] = mapped_column(primary_key=True)
    catalogue_form_id: Mapped[int] = mapped_column(ForeignKey("catalogue_form.id", ondelete="CASCADE"), index=True)
    state_id: Mapped[int] = mapped_column(ForeignKey("state.id", ondelete="CASCADE"), index=True)
    word: Mapped[str] = mapped_column(String(16), default="")
    shown: Mapped[int | None]
    of: Mapped[int | None]


class FormMeasureRow(Row):
    """What a form measures, in its trait's unit: mean, spread (standard deviation), and how many were measured, where told."""

    __tablename__ = "form_measure"
    __table_args__ = (
        UniqueConstraint("catalogue_form_id", "trait_id"),
        CheckConstraint("spread > 0", name="spread"),
        CheckConstraint("n IS NULL OR n > 0", name="n"),
    )

    id: Mapped[int] = mapped_column(primary_key=True)
    catalogue_form_id: Mapped[int] = mapped_column(ForeignKey("catalogue_form.id", ondelete="CASCADE"), index=True)
    trait_id: Mapped[int] = mapped_column(ForeignKey("trait.id", ondelete="CASCADE"), index=True)
    mean: Mapped[float]
    spread: Mapped[float]
    n: Mapped[int | None]


class CataloguePairRow(Row):
    """A pair as a catalogue refers to it, with the author's word on it; `said` holds that in other languages, as {language: {note}}."""

    __tablename__ = "catalogue_pair"
    __table_args__ = (UniqueConstraint("catalogue_id", "pair_id"), UniqueConstraint("catalogue_id", "key"))

    id: Mapped[int] = mapped_column(primary_key=True)
    catalogue_id: Mapped[int] = mapped_column(ForeignKey("catalogue.id", ondelete="CASCADE"), index=True)
    pair_id: Mapped[int] = mapped_column(ForeignKey("pair.id", ondelete="RESTRICT"), index=True)
    key: Mapped[str] = mapped_column(String(160))
    note: Mapped[str] = mapped_column(Text, default="")
    said: Mapped[dict[str, Any]] = mapped_column(JSON, default=dict)
    place: Mapped[int] = mapped_column(default=0)
    neither_allowed: Mapped[bool] = mapped_column(default=True)
    third_share: Mapped[float] = mapped_column(default=0.05)
    extra: Mapped[dict[str, Any]] = mapped_column(JSON, default=dict)
    retired_at: Mapped[datetime | None]


class ThirdRow(Row):
    """A form that shares a misleading trait with a pair."""

    __tablename__ = "third"

    catalogue_pair_id: Mapped[int] = mapped_column(ForeignKey("catalogue_pair.id", ondelete="CASCADE"), primary_key=True)
    catalogue_form_id: Mapped[int] = mapped_column(ForeignKey("catalogue_form.id", ondelete="CASCADE"), primary_key=True, index=True)
    trait_id: Mapped[int] = mapped_column(ForeignKey("trait.id", ondelete="CASCADE"), primary_key=True, index=True)


class CataloguePictureRow(Row):
    """A picture that a catalogue has accepted; `file` is its name in the catalogue's folder.

    `checked_at` is when a steward last looked at its label because learners doubted it, and found it right.
    """

    __tablename__ = "catalogue_picture"
    __table_args__ = (UniqueConstraint("catalogue_id", "file"),)

    catalogue_id: Mapped[int] = mapped_column(ForeignKey("catalogue.id", ondelete="CASCADE"), primary_key=True)
    picture_id: Mapped[int] = mapped_column(ForeignKey("picture.id", ondelete="RESTRICT"), primary_key=True, index=True)
    file: Mapped[str] = mapped_column(String(200))
    place: Mapped[int] = mapped_column(default=0)
    extra: Mapped[dict[str, Any]] = mapped_column(JSON, default=dict)
    accepted_by: Mapped[int | None] = mapped_column(ForeignKey("account.id", ondelete="SET NULL"), index=True)
    checked_by: Mapped[int | None] = mapped_column(ForeignKey("account.id", ondelete="SET NULL"), index=True)
    checked_at: Mapped[datetime | None]
    retired_at: Mapped[datetime | None]


class PairSetRow(Row):
    """Pairs chosen and ordered for a purpose, in stages from easy to hard."""

    __tablename__ = "pair_set"
    __table_args__ = (UniqueConstraint("catalogue_id", "key"),)

    id: Mapped[int] = mapped_column(primary_key=True)
    catalogue_id: Mapped[int] = mapped_column(ForeignKey("catalogue.id", ondelete="CASCADE"), index=True)
    key: Mapped[str] = mapped_column(String(80))
    title: Mapped[str] = mapped_column(String(200))
    note: Mapped[str] = mapped_column(Text, default="")
    place: Mapped[int] = mapped_column(default=0)
    extra: Mapped[dict[str, Any]] = mapped_column(JSON, default=dict)
    retired_at: Mapped[datetime | None]


class StageRow(Row):
    """One stage of a pair set; it holds pictures of some poses and distances alone where it names any."""

    __tablename__ = "stage"
    __table_args__ = (UniqueConstraint("pair_set_id", "place"),)

    id: Mapped[int] = mapped_column(primary_key=True)
    pair_set_id: Mapped[int] = mapped_column(ForeignKey("pair_set.id", ondelete="CASCADE"), index=True)
    place: Mapped[int]
    title: Mapped[str] = mapped_column(String(200))
    poses: Mapped[list[str]] = mapped_column(JSON, default=list)
    distances: Mapped[list[str]] = mapped_column(JSON, default=list)
    extra: Mapped[dict[str, Any]] = mapped_column(JSON, default=dict)


class StagePairRow(Row):
    """A pair in its place within a stage."""

    __tablename__ = "stage_pair"

    stage_id: Mapped[int] = mapped_column(ForeignKey("stage.id", ondelete="CASCADE"), primary_key=True)
    catalogue_pair_id: Mapped[int] = mapped_column(ForeignKey("catalogue_pair.id", ondelete="CASCADE"), primary_key=True, index=True)
    place: Mapped[int] = mapped_column(default=0)


class CatalogueChangeRow(Row):
    """One change of a catalogue: the fields that differ by path, as they were (`before`) and as they became (`after`).

    A field that was not there is absent. `thing` is the path of what was changed, `undone_at` when the change was taken back.
    """

    __tablename__ = "catalogue_change"

    id: Mapped[int] = mapped_column(primary_key=True)
    catalogue_id: Mapped[int] = mapped_column(ForeignKey("catalogue.id", ondelete="CASCADE"), index=True)
    account_id: Mapped[int | None] = mapped_column(ForeignKey("account.id", ondelete="SET NULL"), index=True)
    at: Mapped[datetime]
    kind: Mapped[str] = mapped_column(String(40))
    thing: Mapped[str] = mapped_column(String(200), default="")
    before: Mapped[dict[str, Any]] = mapped_column(JSON, default=dict)
    after: Mapped[dict[str, Any]] = mapped_column(JSON, default=dict)
    undone_at: Mapped[datetime | None]


class TakenSetRow(Row):
    """A pair set that a learner has taken from the shelf."""

    __tablename__ = "taken_set"

    account_id: Mapped[int] = mapped_column(ForeignKey("account.id", ondelete="CASCADE"), primary_key=True)
    pair_set_id: Mapped[int] = mapped_column(ForeignKey("pair_set.id", ondelete="CASCADE"), primary_key=True, index=True)
    taken_at: Mapped[datetime]
