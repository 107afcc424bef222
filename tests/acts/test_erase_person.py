"""Erasing a person: afterwards there is no trace of her in any column of any table, in any file, and in a backup taken then."""

from __future__ import annotations

import re
import zipfile
from math import inf
from pathlib import Path

import pytest
from sqlalchemy import func, select, update

from drillhall.acts import erase_person as act
from drillhall.acts.erase_person import clear_all_files, clear_files, erase_person, finish_erasing
from drillhall.errors import Conflict, NotFound
from drillhall.people import audit, erasing, headless
from drillhall.people.erasing import SOMEBODY
from drillhall.pictures import erasing as pictures
from drillhall.pictures.storage import FolderStorage
from drillhall.store.base import Row
from drillhall.store.models.catalogue import CataloguePictureRow, CatalogueRow, StewardRow
from drillhall.store.models.groups import GroupRow, MembershipRow
from drillhall.store.models.people import AuditRow, SettingRow
from drillhall.store.models.pictures import FileRow, PictureRow, RightsRow
from drillhall.store.models.post import AddressRow, SubscriptionRow
from drillhall.store.models.practice import AnswerRow, HallRateRow, ShowingRow
from drillhall.store.queries.about import NAMELESS, by_table, count_about, is_about_her
from drillhall.store.rewriting import MOST_BYTES, Rewritten
from drillhall.store.session import Store
from tests.acts.backed_up import Kept, bare, opened_once, take
from tests.filled import AT, Filler, every_value

__all__ = ["bare", "opened_once"]

HER_ID = 987654321
HER_NAME = "Quendrida"
ADDRESS = f"{HER_NAME}@mail.example"
FOLDER = "aa/aaaaaaaa-0000-4000-8000-000000000001"
PUBLIC_ID = FOLDER.partition("/")[2]


def word_in(table: str) -> str:
    """Return her name for what is hers, a plain word for what she did for others and her group, nothing where she is not."""
    entries = by_table().get(table, [])
    if not entries:
        return "work" if table == "group" else ""
    return "work" if all(one.at_end == NAMELESS for one in entries) else HER_NAME


@pytest.fixture
def storage(tmp_path: Path) -> FolderStorage:
    storage = FolderStorage(tmp_path / "pictures")
    storage.put(f"{FOLDER}/original.jpg", b"as it came")
    storage.put(f"{FOLDER}/left-by-a-break.webp", b"no row has it")
    return storage


@pytest.fixture
def other(store: Store, storage: FolderStorage) -> int:
    """The other of those who are there, beside her."""
    return furnish(store)


def furnish(store: Store) -> int:
    """Write a keeper, another learner and her into every table; the other has answered on a picture of hers. Return the other's id."""
    tables = Row.metadata.tables
    with store.work() as db:
        filler = Filler(db)
        keeper = filler.fill(lambda _: "Runa", is_keeper=True)
        other = filler.fill(lambda table: "Pell" if word_in(table) else "", is_keeper=False)
        a_round = filler.rows["round"]["id"]
        filler.fill(word_in, id=HER_ID, name=HER_NAME, is_keeper=False)
        picture = filler.rows["picture"]["id"]
        db.execute(update(PictureRow).where(PictureRow.id == picture).values(public_id=PUBLIC_ID))
        db.execute(update(FileRow).where(FileRow.picture_id == picture).values(storage_key=f"{FOLDER}/original.jpg"))
        showing = filler.add(tables["showing"], "Pell", account_id=other, round_id=a_round)
        filler.add(tables["answer"], "Pell", account_id=other, showing_id=showing["id"])
        audit.note(db, "passphrase reset", at=AT, by=other, subject=f"group 1, account {HER_ID}")
        audit.note(db, "membership ended", at=AT, by=HER_ID, subject=f"group 1, account {other}")
        audit.note(db, "signed in", at=AT, by=HER_ID)
        audit.note(db, "picture taken out", at=AT, by=other, subject=f"picture {PUBLIC_ID}, catalogue 1")
        filler.add(tables["catalogue_change"], "Pell", kind="steward added", thing=HER_NAME, account_id=other)
        filler.add(tables["subscription"], "daily", address="someone.else@mail.example")
        another = filler.add(tables["group"], "work")["id"]  # a class on whose list she is, while a new one waits there
        filler.add(tables["roster_place"], HER_NAME, account_id=HER_ID, group_id=another)
        filler.add(tables["roster_draft"], HER_NAME, made_by=keeper, group_id=another)
    return other


def erase(store: Store, storage: FolderStorage, *, leave_licensed: bool = False, by: int | None = HER_ID) -> None:
    erase_person(store, storage, HER_ID, leave_licensed=leave_licensed, by=by, at=AT)


def traces(found: list[tuple[str, str, str]]) -> list[tuple[str, str, str]]:
    return [one for one in found if re.search(rf"{HER_NAME}|{HER_ID}|{PUBLIC_ID}", one[2], re.IGNORECASE)]


def test_no_trace_of_her_is_left_in_any_column_of_any_table(store: Store, storage: FolderStorage, other: int) -> None:
    with store.look() as db:
        assert {table for table, *_ in every_value(db)} == set(Row.metadata.tables), "fill this table in tests/filled.py"
        assert all(count_about(db, HER_ID).values()), "each of these tables held something of her before"
    erase(store, storage)
    with store.look() as db:
        assert traces(every_value(db)) == []


def told_by(backup: Path) -> str:
    with zipfile.ZipFile(backup) as packed:
        return "\n".join([name + packed.read(name).decode(errors="replace") for name in packed.namelist()])


def test_a_backup_taken_afterwards_tells_nothing_of_her(bare: Kept, storage: FolderStorage, tmp_path: Path) -> None:
    furnish(bare.store)
    kept = Kept(bare.store, storage)
    before = told_by(take(kept, tmp_path / "before.zip"))
    assert all(trace in before for trace in (HER_NAME, str(HER_ID), PUBLIC_ID)), "else this test sees nothing"
    erase(bare.store, storage)
    assert traces([("backup", "", told_by(take(kept, tmp_path / "after.zip")))]) == []


def test_what_is_others_is_as_it_was(store: Store, storage: FolderStorage, other: int) -> None:
    mine = [(name, entries) for name, entries in by_table().items() if name != "audit"]

    def rows(account_id: int) -> dict[str, list[str]]:
        with store.look() as db:
            found = {name: db.execute(select(entries[0].table).where(is_about_her(name, account_id))).all() for name, entries in mine}
        return {name: sorted(repr(tuple(row)) for row in rows) for name, rows in found.items()}

    before = rows(other)
    assert all(before.values())
    erase(store, storage)
    after = rows(other)
    changed = {name for name in before if after[name] != before[name]}
    assert changed == {"catalogue_change"}  # it told her name
    with store.look() as db:
        assert db.scalar(select(HallRateRow.shown)) is not None
        log = [(row.act, row.subject) for row in db.scalars(select(AuditRow).order_by(AuditRow.id))]
    assert ("passphrase reset", f"group 1, {SOMEBODY}") in log
    assert ("membership ended", f"group 1, account {other}") in log
    assert ("picture taken out", f"picture of {SOMEBODY}, catalogue 1") in log
    assert "signed in" not in {act for act, _ in log}
    assert ("person erased", "") in log


def test_a_picture_that_others_answered_on_stays_as_a_bare_row(store: Store, storage: FolderStorage, other: int) -> None:
    erase(store, storage)
    with store.look() as db:
        shown = db.scalars(select(ShowingRow).where(ShowingRow.account_id == other).order_by(ShowingRow.id.desc())).first()
        assert shown is not None
        picture = db.get_one(PictureRow, shown.picture_id)
        rights = db.get_one(RightsRow, picture.id)
        assert (picture.owner_id, picture.alt, picture.taken_on, picture.found, picture.fingerprint) == (None, "", None, {}, 0)
        assert (rights.creator, rights.credit, rights.may_group) == ("", "", False)
        assert picture.retired_at == AT
        assert db.scalar(select(func.count()).where(FileRow.picture_id == picture.id)) == 0
        assert db.scalar(select(func.count()).where(AnswerRow.account_id == other)) == 2
    assert list(storage.keys()) == []


def test_the_file_of_the_database_and_what_lies_beside_it_tell_nothing(sqlite_store: Store, tmp_path: Path, storage: FolderStorage) -> None:
    with sqlite_store.work() as db:
        filler = Filler(db)
        filler.fill(lambda _: "Runa", is_keeper=True)
        filler.fill(word_in, id=HER_ID, name=HER_NAME, is_keeper=False)
    assert any(HER_NAME.encode() in path.read_bytes() for path in tmp_path.rglob("hall.sqlite*"))
    erase(sqlite_store, storage)
    for path in tmp_path.rglob("*"):
        assert path.is_dir() or HER_NAME.encode() not in path.read_bytes(), path


def test_pictures_under_an_open_licence_in_a_catalogue_stay_with_their_credit_where_she_says_so(
    store: Store, storage: FolderStorage, other: int
) -> None:
    with store.work() as db:
        id_ = db.scalars(select(PictureRow.id).where(PictureRow.public_id == PUBLIC_ID)).one()
        db.execute(update(RightsRow).where(RightsRow.picture_id == id_).values(may_public=True, agreed="", may_until=None))
        for row in (CataloguePictureRow, CatalogueRow):
            db.execute(update(row).values(retired_at=None))
        assert pictures.count_owned(db, HER_ID).licensed == 1
    erase(store, storage, leave_licensed=True)
    with store.look() as db:
        picture = db.get_one(PictureRow, id_)
        assert (picture.public_id, picture.owner_id, picture.retired_at, picture.found) == (PUBLIC_ID, None, None, {})
        left = {table for table, *_ in traces(every_value(db))}
        assert left <= {"picture", "rights", "file", "mark", "catalogue_picture", "label_change"}, "her credit, as the licence asks"


def test_a_permission_that_is_hers_to_end_lets_no_picture_stay(store: Store, storage: FolderStorage, other: int) -> None:
    with store.work() as db:
        db.execute(update(RightsRow).values(may_public=True, agreed="group", may_until=None))
        db.execute(update(CataloguePictureRow).values(retired_at=None))
        assert pictures.count_owned(db, HER_ID).licensed == 0


def test_files_left_by_a_break_go_the_next_time(store: Store, storage: FolderStorage, other: int, monkeypatch: pytest.MonkeyPatch) -> None:
    def breaks(*_: object) -> None:
        raise KeyboardInterrupt

    with monkeypatch.context() as broken:
        broken.setattr(pictures, "delete_noted", breaks)
        with pytest.raises(KeyboardInterrupt):
            erase(store, storage)
    assert list(storage.keys(FOLDER))
    finish_erasing(store, storage)
    assert list(storage.keys()) == []
    with store.look() as db:
        assert traces(every_value(db)) == []
        assert not db.scalar(select(func.count()).where(SettingRow.key.startswith(pictures.NOTED)))


def noted(store: Store) -> str:
    """Return what is noted of files that may still hold somebody."""
    with store.look() as db:
        return erasing.noted_in_files(db)


def spared(store: Store) -> tuple[str, ...]:
    """Return what of them is left to the keeper."""
    with store.look() as db:
        return erasing.list_spared(db)


def test_the_databases_files_are_written_anew_once_after_she_is_erased(
    sqlite_store: Store, storage: FolderStorage, monkeypatch: pytest.MonkeyPatch
) -> None:
    furnish(sqlite_store)
    done, comes = list[float](), [Rewritten(False), Rewritten(True, ("answer",))]
    monkeypatch.setattr(act, "write_anew", lambda _, most: done.append(most) or comes.pop(0))  # type: ignore[func-returns-value]
    clear_files(sqlite_store)
    assert done == []  # nobody was erased
    erase(sqlite_store, storage)
    clear_files(sqlite_store)
    assert noted(sqlite_store)  # a table was in use
    clear_files(sqlite_store)
    assert (len(done), noted(sqlite_store), spared(sqlite_store)) == (2, "", ("answer",))
    clear_files(sqlite_store)
    assert done == [MOST_BYTES, MOST_BYTES]
    comes = [Rewritten(False), Rewritten(True)]
    assert not clear_all_files(sqlite_store)
    assert spared(sqlite_store) == ("answer",), "it may be what was in use"
    assert clear_all_files(sqlite_store)
    assert (done[2:], spared(sqlite_store)) == ([inf, inf], ())


def test_whoever_is_erased_while_files_are_written_is_not_forgotten(sqlite_store: Store, monkeypatch: pytest.MonkeyPatch) -> None:
    def note_another(_: Store, most: float) -> Rewritten:
        with sqlite_store.work() as db:
            erasing.note_in_files(db)
        return Rewritten(True)

    note_another(sqlite_store, MOST_BYTES)
    monkeypatch.setattr(act, "write_anew", note_another)
    clear_files(sqlite_store)
    assert noted(sqlite_store)


def test_what_she_alone_led_and_wrote_is_not_left_alone(store: Store, storage: FolderStorage) -> None:
    with store.work() as db:
        filler = Filler(db)
        keeper = filler.fill(lambda _: "Runa", is_keeper=True)
        filler.fill(lambda table: HER_NAME if table in {"account", "catalogue", "steward", "group", "membership"} else "", id=HER_ID)
        group, catalogue = filler.rows["group"]["id"], filler.rows["catalogue"]["id"]
    erase(store, storage)
    with store.look() as db:
        assert db.get_one(GroupRow, group).retired_at == AT
        assert db.get(StewardRow, (catalogue, keeper)) is not None


def test_a_group_with_others_in_it_waits_for_somebody_to_lead_it(store: Store, storage: FolderStorage) -> None:
    with store.work() as db:
        filler = Filler(db)
        filler.fill(lambda _: "Runa", is_keeper=True)
        db.execute(update(MembershipRow).values(role="member"))
        group = filler.rows["group"]["id"]
        filler.fill(lambda table: HER_NAME if table in {"account", "membership"} else "", id=HER_ID)
        db.execute(update(MembershipRow).where(MembershipRow.account_id == HER_ID).values(role="teacher"))
        assert headless.list_headless(db) == ()
    erase(store, storage)
    with store.look() as db:
        assert [one.id for one in headless.list_headless(db)] == [group]


def test_the_only_keeper_is_not_erased_and_nothing_has_changed(store: Store, storage: FolderStorage) -> None:
    with store.work() as db:
        Filler(db).fill(lambda _: HER_NAME, id=HER_ID, is_keeper=True)
        before = every_value(db)
    with pytest.raises(Conflict, match="without a keeper"):
        erase(store, storage)
    with store.look() as db:
        assert every_value(db) == before


def test_nobody_is_erased_twice(store: Store, storage: FolderStorage, other: int) -> None:
    erase(store, storage)
    with pytest.raises(NotFound):
        erase(store, storage)


def test_an_address_that_is_not_confirmed_takes_nobodys_letters_away(store: Store, storage: FolderStorage, other: int) -> None:
    with store.work() as db:
        db.execute(update(AddressRow).where(AddressRow.account_id == HER_ID).values(confirmed_at=None))
    erase(store, storage)
    with store.look() as db:
        assert db.scalar(select(func.count()).where(SubscriptionRow.address == ADDRESS)) == 1, "it may be anybody's"
