"""Hall-wide, no author's words: concepts, their names, forms and pairs."""

from __future__ import annotations

from sqlalchemy import CheckConstraint, ForeignKey, String, UniqueConstraint
from sqlalchemy.orm import Mapped, mapped_column

from drillhall.store.base import Row


class ConceptRow(Row):
    """A taxon as one authority bounds it; `taxon_concept_id` is dwc:taxonConceptID.

    `same_as` is the concept known before it that has the same boundary: forms, and so history, hang on that one.
    """

    __tablename__ = "concept"

    id: Mapped[int] = mapped_column(primary_key=True)
    taxon_concept_id: Mapped[str] = mapped_column(String(200), unique=True)
    same_as: Mapped[int | None] = mapped_column(ForeignKey("concept.id", ondelete="RESTRICT"), index=True)


class ConceptMappingRow(Row):
    """How the boundaries of two concepts lie to each other (a TaxonConceptMapping of TCS 2), as a catalogue says."""

    __tablename__ = "concept_mapping"
    __table_args__ = (
        UniqueConstraint("catalogue_id", "subject_id", "object_id"),
        CheckConstraint("subject_id <> object_id", name="two"),
    )

    id: Mapped[int] = mapped_column(primary_key=True)
    catalogue_id: Mapped[int] = mapped_column(ForeignKey("catalogue.id", ondelete="CASCADE"), index=True)
    subject_id: Mapped[int] = mapped_column(ForeignKey("concept.id", ondelete="RESTRICT"), index=True)
    object_id: Mapped[int] = mapped_column(ForeignKey("concept.id", ondelete="RESTRICT"), index=True)
    relation: Mapped[str] = mapped_column(String(24))
    according_to: Mapped[str] = mapped_column(String(200), default="")
    place: Mapped[int] = mapped_column(default=0)


class NameRow(Row):
    """A scientific name of a concept under one list (dwc:nameAccordingTo)."""

    __tablename__ = "name"
    __table_args__ = (UniqueConstraint("concept_id", "according_to", "scientific_name"),)

    id: Mapped[int] = mapped_column(primary_key=True)
    concept_id: Mapped[int] = mapped_column(ForeignKey("concept.id", ondelete="RESTRICT"), index=True)
    according_to: Mapped[str] = mapped_column(String(200))
    scientific_name: Mapped[str] = mapped_column(String(200))
    taxon_rank: Mapped[str] = mapped_column(String(40), default="species")
    status: Mapped[str] = mapped_column(String(40), default="accepted")


class VernacularRow(Row):
    """A common name of a concept in one language (BCP 47)."""

    __tablename__ = "vernacular"
    __table_args__ = (UniqueConstraint("concept_id", "language", "name"),)

    id: Mapped[int] = mapped_column(primary_key=True)
    concept_id: Mapped[int] = mapped_column(ForeignKey("concept.id", ondelete="RESTRICT"), index=True)
    language: Mapped[str] = mapped_column(String(16))
    name: Mapped[str] = mapped_column(String(200))


class FormRow(Row):
    """A concept in a given sex, life stage, plumage and variant; empty words stand for *not said*.

    `told_as` is the form that stands for it since its concept was joined to another: nothing but the log names it any more.
    """

    __tablename__ = "form"
    __table_args__ = (UniqueConstraint("concept_id", "sex", "life_stage", "plumage", "variant"),)

    id: Mapped[int] = mapped_column(primary_key=True)
    concept_id: Mapped[int] = mapped_column(ForeignKey("concept.id", ondelete="RESTRICT"), index=True)
    sex: Mapped[str] = mapped_column(String(40), default="")
    life_stage: Mapped[str] = mapped_column(String(40), default="")
    plumage: Mapped[str] = mapped_column(String(80), default="")
    variant: Mapped[str] = mapped_column(String(80), default="")
    told_as: Mapped[int | None] = mapped_column(ForeignKey("form.id", ondelete="RESTRICT"), index=True)


class PairRow(Row):
    """Two forms that get confused, the lower id first."""

    __tablename__ = "pair"
    __table_args__ = (
        UniqueConstraint("first_form_id", "second_form_id"),
        CheckConstraint("first_form_id < second_form_id", name="ordered"),
    )

    id: Mapped[int] = mapped_column(primary_key=True)
    first_form_id: Mapped[int] = mapped_column(ForeignKey("form.id", ondelete="RESTRICT"), index=True)
    second_form_id: Mapped[int] = mapped_column(ForeignKey("form.id", ondelete="RESTRICT"), index=True)
