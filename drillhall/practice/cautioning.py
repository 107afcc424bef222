"""The cautions of the catalogues that a learner drills from: each said once, whatever their number."""

from __future__ import annotations

from collections.abc import Iterable

from sqlalchemy import select
from sqlalchemy.orm import Session

from drillhall.core.cautions import cautions, fixed_banner
from drillhall.store.models.catalogue import CatalogueRow, PairSetRow


def banners_of(db: Session, catalogue_ids: Iterable[int]) -> tuple[str, ...]:
    """Return the banners that nobody can switch off, for some catalogues; empty where nothing is eaten or touched."""
    return tuple(dict.fromkeys(banner for subject in _subjects(db, catalogue_ids) if (banner := fixed_banner(subject))))


def cautions_of(db: Session, catalogue_ids: Iterable[int], place: str) -> tuple[str, ...]:
    """Return the cautions for some catalogues at a place of `core.cautions.PLACES`."""
    return tuple(dict.fromkeys(line for subject in _subjects(db, catalogue_ids) for line in cautions(subject, place)))


def cautions_of_sets(db: Session, pair_set_ids: Iterable[int], place: str) -> tuple[str, ...]:
    """Return the cautions for the catalogues that some pair sets are of, at a place of `core.cautions.PLACES`."""
    ids = sorted(set(pair_set_ids))
    return cautions_of(db, db.scalars(select(PairSetRow.catalogue_id).where(PairSetRow.id.in_(ids))), place)


def _subjects(db: Session, catalogue_ids: Iterable[int]) -> list[str]:
    query = select(CatalogueRow.subject).where(CatalogueRow.id.in_(sorted(set(catalogue_ids)))).order_by(CatalogueRow.id)
    return list(db.scalars(query))
