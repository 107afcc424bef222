"""A steward at work on one catalogue, for tests of its changes."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import UTC, datetime, timedelta

from drillhall.catalogues.editing.changing import Act, Edit, Opened, Seen, change, the_opened
from drillhall.catalogues.editing.fields import to_fields
from drillhall.catalogues.editing.history import History, list_changes, undo
from drillhall.catalogues.folder import FolderCatalogue
from drillhall.catalogues.stewards import add_steward
from drillhall.catalogues.writing import write_rows
from drillhall.store.models.people import AccountRow
from drillhall.store.session import Store

AT = datetime(2031, 3, 3, 8, 0, tzinfo=UTC)


@dataclass
class Desk:
    """A steward at work on one catalogue, a minute a change."""

    store: Store
    key: str
    account_id: int
    minute: int = 0

    def opened(self) -> Opened:
        with self.store.look() as db:
            return the_opened(db, self.key, self.account_id)

    def said(self) -> FolderCatalogue:
        return self.opened().said

    def fields(self) -> dict[str, object]:
        return to_fields(self.said())

    def change(self, edit: Edit, kind: str = "changed", thing: str = "", seen: Seen | None = None) -> None:
        self.minute += 1
        with self.store.work() as db:
            opened = the_opened(db, self.key, self.account_id, to_write=True)
            change(db, opened, edit, Act(kind, thing), by=self.account_id, at=self.now(), seen=seen)

    def undo(self, change_id: int) -> None:
        self.minute += 1
        with self.store.work() as db:
            undo(db, the_opened(db, self.key, self.account_id, to_write=True), change_id, by=self.account_id, at=self.now())

    def history(self, page: int = 1) -> History:
        with self.store.look() as db:
            return list_changes(db, the_opened(db, self.key, self.account_id), page=page)

    def now(self) -> datetime:
        return AT + timedelta(minutes=self.minute)


def add_account(store: Store, name: str) -> int:
    """Make a bare account."""
    with store.work() as db:
        row = AccountRow(name=name, name_folded=name.casefold(), passphrase_hash="x", created_at=AT)
        db.add(row)
        db.flush()
        return row.id


def open_desk(store: Store, said: FolderCatalogue, account_id: int) -> Desk:
    """Put a catalogue into a hall, with its steward."""
    with store.work() as db:
        written = write_rows(db, said.without_pictures(), at=AT)
        add_steward(db, written.catalogue_id, account_id)
    return Desk(store, said.key, account_id)
