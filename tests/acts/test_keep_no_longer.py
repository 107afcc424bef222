"""The job that keeps nothing longer than the hall has set: what is past its span goes, and so do accounts closed long ago."""

from __future__ import annotations

from datetime import timedelta
from io import BytesIO
from pathlib import Path

from sqlalchemy import select, update

from drillhall.acts.erase_person import erase_person
from drillhall.acts.run_jobs import Workshop, run_round
from drillhall.catalogues import staging
from drillhall.people import audit, retention
from drillhall.people.person import Person, Preferences
from drillhall.people.retention import Retention
from drillhall.pictures import erasing
from drillhall.pictures.storage import FolderStorage
from drillhall.post import outbox
from drillhall.post.mail import Block
from drillhall.post.outbox import Envelope
from drillhall.store.models.people import AccountRow, AuditRow
from drillhall.store.models.post import LetterRow
from drillhall.store.session import Store
from tests.filled import AT, Filler

CLOSED = 987654321


def names_after(store: Store, storage: FolderStorage, days: int) -> list[str]:
    with store.work() as db:
        db.execute(update(AccountRow).where(AccountRow.id == CLOSED).values(retired_at=AT))
    run_round(Workshop(store, storage, None, lambda: AT + timedelta(days=days, seconds=1)))
    with store.look() as db:
        return list(db.scalars(select(AccountRow.name).order_by(AccountRow.id)))


def fill(store: Store) -> None:
    with store.work() as db:
        filler = Filler(db)
        filler.fill(lambda table: "Runa" if table == "account" else "", is_keeper=True, name="Runa")
        filler.fill(lambda table: "Oda" if table == "account" else "", id=CLOSED, name="Oda", is_keeper=False)
        audit.note(db, "account closed", at=AT, subject=f"account {CLOSED}")


def test_an_account_closed_long_ago_is_erased_and_one_closed_lately_is_not(store: Store, storage: FolderStorage) -> None:
    fill(store)
    span = Retention().closed_accounts
    assert names_after(store, storage, span - 1) == ["Runa", "Oda"]
    assert names_after(store, storage, span) == ["Runa"]
    with store.look() as db:
        assert [row.act for row in db.scalars(select(AuditRow))] == ["person erased"]


def test_the_job_goes_by_what_the_keeper_has_set(sqlite_store: Store, storage: FolderStorage) -> None:
    fill(sqlite_store)
    with sqlite_store.work() as db:
        runa = db.scalars(select(AccountRow.id).where(AccountRow.name == "Runa")).one()
        retention.set_retention(db, Retention(closed_accounts=3), by=_person(runa), at=AT)
    assert names_after(sqlite_store, storage, 2) == ["Runa", "Oda"]
    assert names_after(sqlite_store, storage, 3) == ["Runa"]


def test_the_job_keeps_that_a_letter_went_as_long_as_the_keeper_has_set(sqlite_store: Store, storage: FolderStorage) -> None:
    fill(sqlite_store)
    with sqlite_store.work() as db:
        runa = db.scalars(select(AccountRow.id).where(AccountRow.name == "Runa")).one()
        retention.set_retention(db, Retention(letters=2), by=_person(runa), at=AT)
        envelope = Envelope("one", "reminder", "runa@mail.example", account_id=runa)
        outbox.put(db, envelope, "A word", [Block("Look.")], public_url="https://hall.example", at=AT)
        db.execute(update(LetterRow).values(sent_at=AT))
    for days, left in ((1, 1), (2, 0)):
        run_round(Workshop(sqlite_store, storage, None, lambda days=days: AT + timedelta(days=days, seconds=1)))  # type: ignore[misc]
        with sqlite_store.look() as db:
            assert len(db.scalars(select(LetterRow.id)).all()) == left


def test_zips_that_wait_are_let_go_after_a_day_and_with_whoever_is_erased(
    sqlite_store: Store, storage: FolderStorage, tmp_path: Path
) -> None:
    fill(sqlite_store)
    uploads = tmp_path / "uploads"
    paths = [
        staging.stage(uploads, BytesIO(b"zip"), account_id=account_id, token=f"{number:032x}", at=AT + timedelta(hours=3 * number))
        for number, account_id in enumerate((1, CLOSED, CLOSED * 10))
    ]

    def there() -> list[bool]:
        return [path.exists() for path in paths]

    run_round(Workshop(sqlite_store, storage, None, lambda: AT + staging.KEPT + timedelta(hours=1), uploads))
    assert there() == [False, True, True]
    erase_person(sqlite_store, storage, CLOSED, leave_licensed=False, by=None, at=AT, uploads=uploads)
    assert there() == [False, False, True]


def test_the_job_finishes_an_erasing_that_was_broken_off(sqlite_store: Store, storage: FolderStorage) -> None:
    public_id = "aaaaaaaa-0000-4000-8000-000000000001"
    storage.put(f"aa/{public_id}/small.webp", b"left")
    storage.put("bb/original.jpg", b"left too")
    storage.put("cc/another.webp", b"somebody else's")
    with sqlite_store.work() as db:
        erasing.note_files(db, "x", [public_id], ["bb/original.jpg"])
    run_round(Workshop(sqlite_store, storage, None, lambda: AT))
    assert list(storage.keys()) == ["cc/another.webp"]
    with sqlite_store.look() as db:
        assert erasing.list_noted(db) == {}


def _person(account_id: int) -> Person:
    return Person(account_id, "Runa", True, Preferences())
