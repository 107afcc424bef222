"""Erases a person: what is hers goes, what others need loses her name, and the files go once the rows are gone for good."""

from __future__ import annotations

from contextlib import suppress
from datetime import datetime
from math import inf
from pathlib import Path
from uuid import NAMESPACE_URL, uuid5

from drillhall.catalogues import staging
from drillhall.catalogues.stewards import hand_over
from drillhall.errors import Unavailable
from drillhall.people import accounts, audit, erasing
from drillhall.pictures import erasing as pictures
from drillhall.pictures.storage import Storage
from drillhall.store.moving import forget_gone
from drillhall.store.rewriting import MOST_BYTES, write_anew
from drillhall.store.session import Store


def erase_person(
    store: Store, storage: Storage, account_id: int, *, leave_licensed: bool, by: int | None, at: datetime, uploads: Path | None = None
) -> None:
    """Erase a person in one work, then delete her files.

    `leave_licensed`: pictures that a catalogue holds under an open licence stay, with their credit and without an owner. `by` is
    whose act it is: herself, her teacher, the keeper, or None for the hall's own keeping; `uploads` the folder of zips that wait to be
    imported, where the hall has one. Raises NotFound, or Conflict where the hall would be without a keeper; then nothing has changed.
    """
    with store.work() as db:
        erasing.close_for_good(db, account_id, at=at)
        keeper = accounts.the_keeper(db)
        for key in hand_over(db, account_id, to=keeper.id):
            audit.note(db, "steward added", at=at, subject=key)
        erasing.erase_rows(db, account_id)
        gone, keys = pictures.let_pictures_go(db, account_id, leave_licensed=leave_licensed, at=at)
        pictures.note_files(db, str(uuid5(NAMESPACE_URL, f"erasing {account_id} at {at.isoformat()}")), gone, keys)
        erasing.erase_account(db, account_id, by=by, at=at)
        erasing.note_in_files(db)
        forget_gone(db)
    if uploads is not None:
        with suppress(OSError):  # what cannot go now is swept a day later
            staging.drop_of(uploads, account_id)
    with suppress(Unavailable):  # she is erased, and is told so: files that cannot go now are noted, and go with the next round of work
        finish_erasing(store, storage)


def finish_erasing(store: Store, storage: Storage) -> None:
    """Delete the files of everybody who was erased: at once, and again after a break; then let no log keep what the rows said."""
    with store.look() as db:
        noted = pictures.list_noted(db)
    try:
        for name, (public_ids, keys) in noted.items():
            pictures.delete_noted(storage, public_ids, keys)
            with store.work() as db:
                pictures.forget_noted(db, name)
    finally:
        store.fold_log()


def clear_files(store: Store, *, most: float = MOST_BYTES) -> None:
    """Write the database's files anew if somebody was erased since that was done; where a table is in use, the next call tries again.

    What is larger than `most` bytes is noted, and left to the keeper.
    """
    with store.look() as db:
        note = erasing.noted_in_files(db)
    if note:
        _clear(store, note, most)


def clear_all_files(store: Store) -> bool:
    """Write the database's files anew however large they are, and return whether nothing was in use for too long."""
    with store.look() as db:
        note = erasing.noted_in_files(db)
    return _clear(store, note, inf)


def _clear(store: Store, note: str, most: float) -> bool:
    came = write_anew(store, most=most)
    with store.work() as db:
        if came.is_done or came.spared:  # else what was spared before may be what was in use now
            erasing.note_spared(db, came.spared)
        if came.is_done:
            erasing.forget_in_files(db, note)
    return came.is_done
