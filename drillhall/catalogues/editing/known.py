"""Finds what the hall knows of a catalogue's things beyond what the catalogue says: ids, keys once used, pictures shown."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Final

from sqlalchemy import select
from sqlalchemy.orm import Session

from drillhall.store.models.catalogue import CatalogueFormRow, PairSetRow, TraitRow
from drillhall.store.models.pictures import PictureRow

_ROWS: Final[Mapping[str, type[CatalogueFormRow] | type[TraitRow] | type[PairSetRow]]] = {
    "forms": CatalogueFormRow,
    "traits": TraitRow,
    "sets": PairSetRow,
}


def form_ids(db: Session, catalogue_id: int) -> dict[str, int]:
    """Return the hall's ids of a catalogue's forms in use, by key."""
    query = select(CatalogueFormRow.key, CatalogueFormRow.form_id).where(
        CatalogueFormRow.catalogue_id == catalogue_id, CatalogueFormRow.retired_at.is_(None)
    )
    return {row.key: row.form_id for row in db.execute(query)}


def used_keys(db: Session, catalogue_id: int, part: str) -> frozenset[str]:
    """Return every key that a part of a catalogue has or had: a retired one must not come to mean another thing."""
    kind = _ROWS[part]
    return frozenset(db.scalars(select(kind.key).where(kind.catalogue_id == catalogue_id)))


def has_pictures(db: Session, form_id: int) -> bool:
    """Whether any picture of the hall shows a form: then it stays that form, since answers may name it."""
    return db.scalar(select(PictureRow.id).where(PictureRow.form_id == form_id).limit(1)) is not None
