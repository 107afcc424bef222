"""Makes a catalogue, retires it and takes it back, and says who writes it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import Any, Final

from sqlalchemy import func, select
from sqlalchemy.orm import Session

from drillhall.catalogues.editing.changing import Act, Opened, note, refuse_faults
from drillhall.catalogues.editing.things import make_key
from drillhall.catalogues.folder import FolderCatalogue
from drillhall.catalogues.stewards import add_steward
from drillhall.catalogues.writing import write_rows
from drillhall.errors import Conflict, NotFound
from drillhall.store.models.catalogue import CatalogueRow, StewardRow
from drillhall.store.models.people import AccountRow
from drillhall.words import say

RESERVED: Final = frozenset({"new", "staged"})
"""Keys that stand for pages of their own in the addresses of catalogues."""


@dataclass(frozen=True, slots=True)
class Steward:
    """Somebody who writes a catalogue."""

    id: int
    name: str


@dataclass(frozen=True, slots=True)
class RetiredCatalogue:
    """A catalogue that is out of use and can be taken back by its stewards."""

    key: str
    title: str
    retired_at: datetime


def make_catalogue(db: Session, values: Mapping[str, Any], *, by: int, at: datetime) -> str:
    """Make an empty catalogue with one steward and return its key, which is made from its title."""
    taken = RESERVED | frozenset(db.scalars(select(CatalogueRow.key)))
    said = FolderCatalogue(key=make_key(str(values["title"]), taken, sign="-"), **values)
    empty = FolderCatalogue(key=said.key, title="", subject="", list_name="")
    refuse_faults(empty, said)
    written = write_rows(db, said, at=at)
    add_steward(db, written.catalogue_id, by)
    note(db, written.catalogue_id, Act("made"), by=by, at=at)  # without fields: what is taken back is the whole of it, by retiring
    return said.key


def retire_catalogue(db: Session, opened: Opened, *, by: int, at: datetime) -> None:
    """Take a catalogue out of use: its sets leave the shelf and every drill; what was answered stays."""
    db.get_one(CatalogueRow, opened.id).retired_at = at
    note(db, opened.id, Act("retired as a whole"), by=by, at=at)


def take_back_catalogue(db: Session, key: str, *, by: int, at: datetime) -> None:
    """Take a retired catalogue into use again, for one of its stewards; raises NotFound for anybody else."""
    row = db.scalar(_retired(by).where(CatalogueRow.key == key))
    if row is None:
        raise NotFound(say("There is no such retired catalogue, or it is not yours to write."))
    row.retired_at = None
    note(db, row.id, Act("taken back as a whole"), by=by, at=at)


def list_retired(db: Session, account_id: int) -> tuple[RetiredCatalogue, ...]:
    """Return the retired catalogues that somebody wrote, the one retired last first."""
    rows = db.scalars(_retired(account_id).order_by(CatalogueRow.retired_at.desc(), CatalogueRow.id))
    return tuple(RetiredCatalogue(row.key, row.title, row.retired_at) for row in rows if row.retired_at is not None)


def stewards_of(db: Session, catalogue_id: int) -> tuple[Steward, ...]:
    """Return who writes a catalogue, by name."""
    query = (
        select(AccountRow.id, AccountRow.name)
        .join(StewardRow, StewardRow.account_id == AccountRow.id)
        .where(StewardRow.catalogue_id == catalogue_id, AccountRow.retired_at.is_(None))
        .order_by(AccountRow.name_folded)
    )
    return tuple(Steward(id_, name) for id_, name in db.execute(query))


def give_stewardship(db: Session, opened: Opened, steward: Steward, *, by: int, at: datetime) -> None:
    """Make somebody a steward; raises Conflict where she is one already."""
    if db.get(StewardRow, (opened.id, steward.id)) is not None:
        raise Conflict(say("{name} writes this catalogue already.", name=steward.name))
    add_steward(db, opened.id, steward.id)
    note(db, opened.id, Act("steward added", steward.name), by=by, at=at)


def end_stewardship(db: Session, opened: Opened, account_id: int, *, by: int, at: datetime) -> None:
    """End somebody's stewardship; raises NotFound where she is no steward, Conflict where nobody would be left."""
    row = db.get(StewardRow, (opened.id, account_id))
    if row is None:
        raise NotFound(say("That is no steward of this catalogue."))
    others = select(func.count()).select_from(StewardRow).join(AccountRow, AccountRow.id == StewardRow.account_id)
    left = others.where(StewardRow.catalogue_id == opened.id, AccountRow.id != account_id, AccountRow.retired_at.is_(None))
    if not db.scalar(left):
        raise Conflict(say("A catalogue needs somebody who writes it. Add another steward first, or retire the catalogue."))
    name = db.get_one(AccountRow, account_id).name
    db.delete(row)
    db.flush()
    note(db, opened.id, Act("steward removed", name), by=by, at=at)


def _retired(account_id: int) -> Any:
    return (
        select(CatalogueRow)
        .join(StewardRow, StewardRow.catalogue_id == CatalogueRow.id)
        .where(StewardRow.account_id == account_id, CatalogueRow.retired_at.is_not(None))
    )
