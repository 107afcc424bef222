"""What is marked and framed on pictures, and for which traits they may be marked."""

from __future__ import annotations

from collections.abc import Iterable

from sqlalchemy import and_, exists, or_, select
from sqlalchemy.orm import Session

from drillhall.core.regions import Region
from drillhall.core.tongues import label_in, words_in
from drillhall.core.values import Use
from drillhall.store.models.catalogue import CatalogueFormRow, CataloguePictureRow, CatalogueRow, StewardRow, TraitRow
from drillhall.store.models.pictures import MarkRow, PictureRow
from drillhall.words import speaking

SUBJECT_WORDS = "which one is meant"
"""What the mark *subject* shows."""


def frame_of(picture: PictureRow) -> Region | None:
    """Return the rectangle that a picture is cut to, or None where it is shown whole."""
    if picture.frame_x is None or picture.frame_y is None or picture.frame_width is None or picture.frame_height is None:
        return None
    return Region(picture.frame_x, picture.frame_y, picture.frame_width, picture.frame_height)


def marks_of(db: Session, picture_id: int) -> list[tuple[MarkRow, TraitRow | None, str]]:
    """Return the marks on a picture, each with its trait (None: *subject*) and what it shows, in the language spoken; the subject first."""
    query = (
        select(MarkRow, TraitRow, CatalogueRow.language)
        .outerjoin(TraitRow, TraitRow.id == MarkRow.trait_id)
        .outerjoin(CatalogueRow, CatalogueRow.id == TraitRow.catalogue_id)
        .where(MarkRow.picture_id == picture_id)
        .order_by(MarkRow.trait_id.is_not(None), TraitRow.catalogue_id, TraitRow.place, MarkRow.id)
    )
    return [(mark, trait, _told(trait, language) if trait else SUBJECT_WORDS) for mark, trait, language in db.execute(query)]


def subjects_of(db: Session, picture_ids: Iterable[int]) -> dict[int, MarkRow]:
    """Return the mark *subject* of those pictures that have one."""
    query = select(MarkRow).where(MarkRow.picture_id.in_(list(picture_ids)), MarkRow.trait_id.is_(None))
    return {mark.picture_id: mark for mark in db.scalars(query)}


def traits_for(db: Session, picture: PictureRow, catalogue_ids: Iterable[int]) -> list[tuple[TraitRow, str, str]]:
    """Return the traits that may be marked on a picture, with what each is called in the language spoken and its catalogue's title.

    They are those of the catalogues named that hold the form it shows, or one of the two between which it lies.
    """
    forms = [form for form in (picture.form_id, picture.either_form_id, picture.or_form_id) if form is not None]
    holds = exists().where(
        CatalogueFormRow.catalogue_id == CatalogueRow.id, CatalogueFormRow.form_id.in_(forms), CatalogueFormRow.retired_at.is_(None)
    )
    query = (
        select(TraitRow, CatalogueRow.language, CatalogueRow.title)
        .join(CatalogueRow, CatalogueRow.id == TraitRow.catalogue_id)
        .where(CatalogueRow.id.in_(list(catalogue_ids)), CatalogueRow.retired_at.is_(None), TraitRow.retired_at.is_(None), holds)
        .order_by(CatalogueRow.title, CatalogueRow.id, TraitRow.place, TraitRow.id)
    )
    return [(trait, _told(trait, language), title) for trait, language, title in db.execute(query)]


def _told(trait: TraitRow, own: str) -> str:
    return label_in(trait.label, words_in(trait.said), own, speaking())


def markable(db: Session, account_id: int, public_id: str) -> PictureRow | None:
    """Return a picture in use that somebody may mark, or None: it is hers, or a catalogue that she is steward of holds it."""
    stewarded = exists().where(
        CataloguePictureRow.picture_id == PictureRow.id,
        CataloguePictureRow.retired_at.is_(None),
        CatalogueRow.id == CataloguePictureRow.catalogue_id,
        CatalogueRow.retired_at.is_(None),
        StewardRow.catalogue_id == CatalogueRow.id,
        StewardRow.account_id == account_id,
    )
    is_described = or_(PictureRow.owner_id == account_id, and_(PictureRow.described_at.is_not(None), stewarded))
    return db.scalar(select(PictureRow).where(PictureRow.public_id == public_id, PictureRow.retired_at.is_(None), is_described))


def stewarded_by(db: Session, account_id: int) -> list[int]:
    """Return the catalogues in use that somebody is steward of."""
    query = select(CatalogueRow.id).join(StewardRow, StewardRow.catalogue_id == CatalogueRow.id)
    return list(db.scalars(query.where(StewardRow.account_id == account_id, CatalogueRow.retired_at.is_(None))))


def next_unframed(db: Session, account_id: int, *, after: int | None = None) -> str | None:
    """Return the name of the latest of somebody's pictures that lacks a frame; behind one of hers, the next in that order, round.

    Those withdrawn, and those held out, which not even she is shown, lack none.
    """
    lacks = and_(PictureRow.retired_at.is_(None), PictureRow.use != Use.HELD_OUT.value, PictureRow.frame_x.is_(None))
    query = select(PictureRow.public_id).where(PictureRow.owner_id == account_id, lacks, PictureRow.id != (after or 0))
    behind = [] if after is None else [PictureRow.id > after]
    return db.scalars(query.order_by(*behind, PictureRow.id.desc()).limit(1)).first()
