"""A backup taken while people write, put back on the other engine: row by row and file by file."""

from __future__ import annotations

from collections.abc import Callable
from datetime import timedelta
from functools import partial
from itertools import count
from pathlib import Path
from threading import Event, Thread

import pytest
from sqlalchemy import delete, select, text

from drillhall.acts.back_up import back_up
from drillhall.errors import Conflict, DrillhallError, NotFound, Unavailable
from drillhall.people import accounts, hall
from drillhall.practice.folding import rebuild
from drillhall.store.archive import Archive
from drillhall.store.models.people import SettingRow
from drillhall.store.models.pictures import FileRow, PictureRow
from drillhall.store.models.practice import AnswerRow
from drillhall.store.session import Store, once_kept
from tests.acts.backed_up import Kept, bare, empty, every_file, every_row, furnish, opened_once, put_back, quietly, take, taken
from tests.practice.playing import play
from tests.practice.rows import folded
from tests.practice.small_hall import NOON

__all__ = ["bare", "empty", "opened_once", "taken"]


@pytest.fixture(params=["sqlite to postgresql", "postgresql to sqlite"])
def crossing(request: pytest.FixtureRequest, empty: dict[str, Kept]) -> tuple[Kept, Kept]:
    """From where and to where."""
    source, target = request.param.split(" to ")
    return empty[source], empty[target]


def test_the_rows_are_those_of_one_instant_and_the_same_on_the_other_engine(crossing: tuple[Kept, Kept], tmp_path: Path) -> None:
    source, target = crossing
    furnish(source)
    before, numbers = every_row(source.store), count()

    def between(_done: int, _of: int, what: str) -> None:
        if not what[0].isdigit():  # a table, not a file
            with source.store.work() as db:
                db.add(SettingRow(key=f"written meanwhile {next(numbers)}", value=what))

    take(source, tmp_path / "hall.zip", between)
    assert next(numbers) > 50
    assert put_back(target, tmp_path / "hall.zip") == ()
    assert every_row(target.store) == before
    assert every_file(target.storage) == every_file(source.storage) != {}
    with target.store.work() as db:  # the next account is numbered after those that came
        made = accounts.make_account(db, name="Somebody new", passphrase="kelp on a rusty anchor", at=NOON)
        assert made.id == 1 + max(row[0] for row in before["account"])


def test_a_backup_under_load_is_one_instant_and_loses_nothing_acknowledged(crossing: tuple[Kept, Kept], tmp_path: Path) -> None:
    """One who answers and one whose pictures come and go, all the while; and what is folded still is what the answers come to."""
    source, target = crossing
    small = furnish(source)
    stop, faults = Event(), []
    writers = [Thread(target=_drilling, args=(source, small.learner, stop, faults)), Thread(target=_sending, args=(source, stop, faults))]
    with source.store.look() as db:
        acknowledged = set(db.scalars(select(AnswerRow.id)))
    for writer in writers:
        writer.start()
    take(source, tmp_path / "hall.zip")
    stop.set()
    for writer in writers:
        writer.join()
    assert faults == []
    put_back(target, tmp_path / "hall.zip")
    now, then = every_row(source.store), every_row(target.store)
    assert len(now["answer"]) > len(then["answer"]), "they wrote meanwhile"
    assert {row[0] for row in then["answer"]} >= acknowledged
    for table in ("answer", "account", "picture", "rights"):
        assert set(map(repr, then[table])) <= set(map(repr, now[table])), table
    with target.store.look() as db:
        before = folded(db)
        named = {row.storage_key for row in db.scalars(select(FileRow))}
    assert named >= set(target.storage.keys())
    assert {key: value for key, value in every_file(source.storage).items() if key in named} == every_file(target.storage)
    with target.store.work() as db:
        rebuild(db)
    with target.store.look() as db:
        assert folded(db) == before


def _drilling(kept: Kept, who: int, stop: Event, faults: list[Exception]) -> None:
    day = 1
    while not stop.wait(0.02) and not faults:
        try:
            with kept.store.work() as db:
                play(db, who, at=NOON + timedelta(days=day))
        except DrillhallError as error:
            faults.append(error)
        day += 1


def _sending(kept: Kept, stop: Event, faults: list[Exception]) -> None:
    number = 1000
    while not stop.wait(0.02) and not faults:
        number += 1
        try:
            with kept.store.work() as db:
                kept.storage.put(f"{number}", f"{number}".encode())
                db.add(_picture(number))
                db.flush()
                db.add(_file(number))
                if number % 3 == 0:
                    db.execute(delete(FileRow).where(FileRow.storage_key == f"{number - 2}"))
                    once_kept(db, partial(kept.storage.delete, f"{number - 2}"))
        except DrillhallError as error:
            faults.append(error)


def _picture(number: int) -> PictureRow:
    sizes = {"width_px": 960, "height_px": 640}
    return PictureRow(id=number, public_id=f"{number}", content_sha256=f"{number}", fingerprint=number, made_at=NOON, **sizes)


def _file(number: int) -> FileRow:
    sizes = {"width_px": 960, "height_px": 640, "bytes": 4}
    return FileRow(picture_id=number, size_name="large", recipe="r", storage_key=f"{number}", media_type="image/webp", **sizes)


def test_a_newer_database_and_none_at_all_are_not_backed_up(bare: Kept, tmp_path: Path) -> None:
    none = Kept(Store(f"sqlite:///{tmp_path / 'none.sqlite'}"), bare.storage)
    with pytest.raises(NotFound, match="nothing to back up"):
        take(none, tmp_path / "hall.zip")
    none.store.close()
    with bare.store.engine.begin() as connection:
        connection.execute(text("UPDATE alembic_version SET version_num = '29991231_later'"))
    with pytest.raises(Unavailable, match="newer Drillhall"):
        take(bare, tmp_path / "hall.zip")
    assert not list(tmp_path.glob("hall*"))


def test_a_backup_overwrites_nothing_and_leaves_nothing_half_written(taken: Path, bare: Kept, tmp_path: Path) -> None:
    put_back(bare, taken)
    there = tmp_path / "there.zip"
    there.write_text("precious")
    with pytest.raises(Conflict, match="overwrites nothing"):
        take(bare, there)
    assert there.read_text() == "precious"
    with pytest.raises(Unavailable, match="could not be written"):
        take(bare, tmp_path / "nowhere" / "hall.zip")

    def full(_done: int, _of: int, what: str) -> None:
        if what == "answer":
            raise OSError(28, "No space left on device")

    with pytest.raises(Unavailable, match="No space left"):
        take(bare, tmp_path / "full.zip", full)
    assert not list(tmp_path.glob("full*"))


def test_of_two_backups_to_one_name_the_first_that_is_whole_stays(taken: Path, bare: Kept, tmp_path: Path) -> None:
    put_back(bare, taken)

    def another(_done: int, _of: int, what: str) -> None:
        if what == "answer":
            take(bare, tmp_path / "one.zip")

    with pytest.raises(Conflict, match="overwrites nothing"):
        take(bare, tmp_path / "one.zip", another)
    with Archive(tmp_path / "one.zip") as archive:
        archive.check(progress=quietly)
    assert [path.name for path in tmp_path.glob("one*")] == ["one.zip"]


def test_a_backup_from_a_full_disk_is_whole_and_says_that_it_is_not_noted(
    taken: Path, bare: Kept, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    put_back(bare, taken)

    def no_room(*_: object, **__: object) -> None:
        raise Unavailable("The hall's disk is full.")

    monkeypatch.setattr(hall, "note_backup", no_room)
    done = back_up(bare.store, bare.storage, tmp_path / "kept.zip", at=NOON, program="0.1.0", progress=quietly)
    assert not done.is_noted
    with Archive(tmp_path / "kept.zip") as archive:
        archive.check(progress=quietly)


def test_a_file_that_cannot_be_read_is_named_and_no_backup_is_kept(
    taken: Path, bare: Kept, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    put_back(bare, taken)

    def fails(key: str, get: Callable[[str], bytes] = bare.storage.get) -> bytes:
        if key == "7":
            raise OSError(5, "Input/output error")
        return get(key)

    monkeypatch.setattr(bare.storage, "get", fails)
    with pytest.raises(Unavailable, match=r"The file 7 of a picture could not be read \(Input/output error\)"):
        take(bare, tmp_path / "none.zip")
    assert not list(tmp_path.glob("none*"))


def test_a_lost_file_is_told_and_the_rest_is_kept(taken: Path, bare: Kept, tmp_path: Path) -> None:
    put_back(bare, taken)
    bare.storage.delete("7")
    done = back_up(bare.store, bare.storage, tmp_path / "less.zip", at=NOON, program="0.1.0", progress=quietly)
    assert done.missing == ("7",)
    assert (tmp_path / "less.zip").stat().st_mode & 0o777 == 0o600
    with bare.store.look() as db:
        backup = hall.last_backup(db)
    assert backup == hall.Backup(NOON, done.size)
    with Archive(tmp_path / "less.zip") as archive:
        assert archive.head.missing == ("7",)
        assert "7" not in archive.keys
