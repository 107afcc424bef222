"""Erases one person: what is hers goes row by row, what others need loses her name, and no line tells which account it was."""

from __future__ import annotations

import re
from collections.abc import Collection
from datetime import datetime
from typing import Final
from uuid import uuid4

from sqlalchemy import delete, func, select, update
from sqlalchemy.orm import Session

from drillhall.errors import Conflict, NotFound
from drillhall.people import audit, headless
from drillhall.people.names import fold_name
from drillhall.store.base import Row
from drillhall.store.models.catalogue import CatalogueChangeRow
from drillhall.store.models.people import AccountRow, AuditRow, SettingRow
from drillhall.store.models.pictures import PictureRow
from drillhall.store.models.rosters import RosterDraftRow, RosterPlaceRow
from drillhall.store.queries.about import GO, NAMELESS, About, by_table, names_her
from drillhall.words import say

SOMEBODY: Final = "somebody erased"
"""What stands where her name or number stood in what others need."""
_PICTURE: Final = re.compile(r"\bpicture ([0-9a-f-]{8,36})\b")
IN_FILES: Final = "rows that files may still hold"
"""The setting in which is noted that the database's files are to be written anew."""
SPARED: Final = "files too large to be written anew"
"""The setting that names what of them is left to the keeper."""


def close_for_good(db: Session, account_id: int, *, at: datetime) -> str:
    """Hold an account and close it, so that nothing more comes to it, and return its name.

    Raises NotFound where there is none, Conflict where nobody else keeps the hall.
    """
    row = db.scalars(select(AccountRow).where(AccountRow.id == account_id).with_for_update()).one_or_none()
    if row is None:
        raise NotFound(say("There is no such account."))
    others = select(func.count()).where(AccountRow.is_keeper.is_(True), AccountRow.retired_at.is_(None), AccountRow.id != account_id)
    if row.is_keeper and row.retired_at is None and not db.scalar(others):
        raise Conflict(
            say("Nobody else keeps this hall, so it would be without a keeper. A whole hall is erased by deleting its data folder.")
        )
    row.retired_at = row.retired_at or at
    db.flush()
    headless.archive_deserted(db, account_id, by=None, at=at)
    return row.name


def erase_rows(db: Session, account_id: int) -> None:
    """Erase what is hers in every table but the account and the pictures, whose own room sees to them."""
    name = db.get_one(AccountRow, account_id).name
    _erase_from_log(db, account_id)
    _erase_from_changes(db, name)
    _erase_from_lists(db, account_id, name)
    entries = by_table()
    for by_way_of_another in (True, False):  # what is found through another table's rows goes while these are there
        for table in reversed(Row.metadata.sorted_tables):  # what hangs on a row goes before it
            for one in entries.get(table.name, ()):
                if (one.whose is not None) is by_way_of_another:
                    _erase_from(db, one, account_id)


def erase_account(db: Session, account_id: int, *, by: int | None, at: datetime) -> None:
    """Erase the account itself, and note that somebody was erased, and by whom where it was not she."""
    db.execute(delete(AccountRow).where(AccountRow.id == account_id), execution_options={"synchronize_session": False})
    audit.note(db, "person erased", at=at, by=by if by != account_id else None)
    db.expire_all()


def note_in_files(db: Session) -> None:
    """Note that pages of the database's files may hold what was in rows that go with this work."""
    db.merge(SettingRow(key=IN_FILES, value={"note": str(uuid4())}))


def noted_in_files(db: Session) -> str:
    """Return the note, which is another one after each erasure; empty where there is none."""
    row = db.get(SettingRow, IN_FILES)
    return str(row.value["note"]) if row else ""


def forget_in_files(db: Session, note: str) -> None:
    """Forget the note, unless somebody else was erased since."""
    if noted_in_files(db) == note:
        db.execute(delete(SettingRow).where(SettingRow.key == IN_FILES))


def note_spared(db: Session, names: Collection[str]) -> None:
    """Note what of the database's files was not written anew, since people would wait too long; without a name, that all of it was."""
    if names:
        db.merge(SettingRow(key=SPARED, value={"names": sorted(names)}))
    else:
        db.execute(delete(SettingRow).where(SettingRow.key == SPARED))


def list_spared(db: Session) -> tuple[str, ...]:
    """Return the names of what was left to the keeper to write anew."""
    row = db.get(SettingRow, SPARED)
    return tuple(map(str, row.value["names"])) if row else ()


def _erase_from(db: Session, one: About, account_id: int) -> None:
    if one.at_end == GO and one.row is not AccountRow:
        db.execute(delete(one.table).where(one.is_about(account_id)))
    elif one.at_end == NAMELESS:
        for column in one.columns:
            db.execute(update(one.table).where(one.table.c[column] == account_id).values({column: None}))


def _erase_from_log(db: Session, account_id: int) -> None:
    """Delete what she did to nobody's things but her own; take her out of what was done to others, and by others to her."""
    db.execute(delete(AuditRow).where(AuditRow.account_id == account_id, AuditRow.subject == ""))
    hers = re.compile(rf"\baccount {account_id}\b")
    for row in db.scalars(select(AuditRow).where(names_her(account_id))):
        row.subject = hers.sub(SOMEBODY, row.subject)
    pictures = set(db.scalars(select(PictureRow.public_id).where(PictureRow.owner_id == account_id)))
    for row in db.scalars(select(AuditRow).where(AuditRow.subject.like("picture %"))):
        of_hers = pictures.intersection(_PICTURE.findall(row.subject))
        row.subject = _PICTURE.sub(f"picture of {SOMEBODY}", row.subject) if of_hers else row.subject
    db.flush()


def _erase_from_changes(db: Session, name: str) -> None:
    """Take her name out of the history of catalogues, which tells who became a steward by name."""
    stewards = select(CatalogueChangeRow).where(CatalogueChangeRow.kind.in_(("steward added", "steward removed")))
    for row in db.scalars(stewards):
        if fold_name(row.thing) == fold_name(name):
            row.thing = SOMEBODY
    db.flush()


def _erase_from_lists(db: Session, account_id: int, name: str) -> None:
    """Let every list go that waits to be confirmed and has her name on it, or what another list calls her: also of a class to come."""
    hers = {fold_name(name), *db.scalars(select(RosterPlaceRow.listed_as).where(RosterPlaceRow.account_id == account_id))}
    for row in db.scalars(select(RosterDraftRow)):
        if not hers.isdisjoint(fold_name(listed) for listed, _ in row.entries):
            db.delete(row)
    db.flush()
