"""Hall-wide, no author's words: concepts, their names, forms and pairs."""

from __future__ import annotations

from sqlalchemy import CheckConstraint, ForeignKey, String, UniqueConstraint
from sqlalchemy.orm import Mapped, mapped_column

from drillhall.store.base import Row


class ConceptRow(Row):
    """A taxon as one authority bounds it; `taxon_concept_id` is dwc:taxonConceptID."""

    __tablename__ = "concept"

    id: Mapped[int] = mapped_column(primary_key=True)
    taxon_concept_id: Mapped[str] = mapped_column(String(200), unique=True)


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
    """A concept in a given sex, life stage, plumage and variant; empty words stand for *not said*."""

    __tablename__ = "form"
    __table_args__ = (UniqueConstraint("concept_id", "sex", "life_stage", "plumage", "variant"),)

    id: Mapped[int] = mapped_column(primary_key=True)
    concept_id: Mapped[int] = mapped_column(ForeignKey("concept.id", ondelete="RESTRICT"), index=True)
    sex: Mapped[str] = mapped_column(String(40), default="")
    life_stage: Mapped[str] = mapped_column(String(40), default="")
    plumage: Mapped[str] = mapped_column(String(80), default="")
    variant: Mapped[str] = mapped_column(String(80), default="")


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
