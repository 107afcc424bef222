"""Who may write a catalogue, and the catalogues that somebody may write."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

from sqlalchemy import func, select
from sqlalchemy.orm import Session

from drillhall.errors import NotFound
from drillhall.store.models.catalogue import CatalogueFormRow, CataloguePairRow, CataloguePictureRow, CatalogueRow, PairSetRow, StewardRow
from drillhall.store.models.people import AccountRow
from drillhall.words import say


@dataclass(frozen=True, slots=True)
class ListedCatalogue:
    """A catalogue in a list: what it is called, how much it holds, when it was last changed, its pair sets' titles."""

    id: int
    key: str
    title: str
    subject: str
    forms: int
    pairs: int
    pictures: int
    sets: tuple[str, ...]
    changed_at: datetime


@dataclass(frozen=True, slots=True)
class StewardedCatalogue:
    """A catalogue whose steward asks for it."""

    id: int
    key: str
    title: str
    subject: str


def add_steward(db: Session, catalogue_id: int, account_id: int) -> None:
    """Make somebody a steward of a catalogue; one who is already stays so."""
    if db.get(StewardRow, (catalogue_id, account_id)) is None:
        db.add(StewardRow(catalogue_id=catalogue_id, account_id=account_id))
        db.flush()


def the_stewarded_catalogue(db: Session, key: str, account_id: int) -> StewardedCatalogue:
    """Return the catalogue in use of that key to one of its stewards, or raise NotFound, as if it were not there."""
    query = (
        select(CatalogueRow)
        .join(StewardRow, StewardRow.catalogue_id == CatalogueRow.id)
        .where(CatalogueRow.key == key, CatalogueRow.retired_at.is_(None), StewardRow.account_id == account_id)
    )
    row = db.scalar(query)
    if row is None:
        raise NotFound(say("There is no such catalogue, or it is not yours to write."))
    return StewardedCatalogue(row.id, row.key, row.title, row.subject)


def list_stewards(db: Session, key: str) -> tuple[int, ...]:
    """Return the accounts in use that are stewards of the catalogue of that key, the oldest account first; none where there is none."""
    query = (
        select(AccountRow.id)
        .join(StewardRow, StewardRow.account_id == AccountRow.id)
        .join(CatalogueRow, CatalogueRow.id == StewardRow.catalogue_id)
        .where(CatalogueRow.key == key, AccountRow.retired_at.is_(None))
        .order_by(AccountRow.id)
    )
    return tuple(db.scalars(query))


def list_stewarded(db: Session, account_id: int) -> tuple[ListedCatalogue, ...]:
    """Return the catalogues in use of which somebody is steward, by title."""
    query = (
        select(CatalogueRow)
        .join(StewardRow, StewardRow.catalogue_id == CatalogueRow.id)
        .where(StewardRow.account_id == account_id, CatalogueRow.retired_at.is_(None))
        .order_by(CatalogueRow.title, CatalogueRow.id)
    )
    rows = db.scalars(query).all()
    ids = [row.id for row in rows]
    sets = _sets(db, ids)
    forms, pairs, pictures = (_counts(db, kind, ids) for kind in (CatalogueFormRow, CataloguePairRow, CataloguePictureRow))
    return tuple(
        ListedCatalogue(
            id=row.id,
            key=row.key,
            title=row.title,
            subject=row.subject,
            forms=forms.get(row.id, 0),
            pairs=pairs.get(row.id, 0),
            pictures=pictures.get(row.id, 0),
            sets=tuple(sets[row.id]),
            changed_at=row.changed_at,
        )
        for row in rows
    )


Held = type[CatalogueFormRow] | type[CataloguePairRow] | type[CataloguePictureRow]


def _counts(db: Session, kind: Held, ids: Sequence[int]) -> dict[int, int]:
    query = select(kind.catalogue_id, func.count()).where(kind.catalogue_id.in_(ids), kind.retired_at.is_(None)).group_by(kind.catalogue_id)
    return {catalogue_id: int(count) for catalogue_id, count in db.execute(query)}


def _sets(db: Session, ids: Sequence[int]) -> dict[int, list[str]]:
    query = select(PairSetRow.catalogue_id, PairSetRow.title).where(PairSetRow.catalogue_id.in_(ids), PairSetRow.retired_at.is_(None))
    titles: dict[int, list[str]] = defaultdict(list)
    for catalogue_id, title in db.execute(query.order_by(PairSetRow.place, PairSetRow.id)):
        titles[catalogue_id].append(title)
    return titles


def hand_over(db: Session, account_id: int, *, to: int) -> tuple[str, ...]:
    """Let somebody write the catalogues that an account alone writes, and return their keys: none is left without a steward."""
    hers = select(StewardRow.catalogue_id).where(StewardRow.account_id == account_id)
    others = (
        select(StewardRow.catalogue_id)
        .join(AccountRow, AccountRow.id == StewardRow.account_id)
        .where(StewardRow.account_id != account_id, AccountRow.retired_at.is_(None))
    )
    left = db.execute(select(CatalogueRow.id, CatalogueRow.key).where(CatalogueRow.id.in_(hers), CatalogueRow.id.not_in(others))).all()
    for row in left:
        add_steward(db, row.id, to)
    return tuple(row.key for row in left)
