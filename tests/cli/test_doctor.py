"""`drillhall doctor`: a sound hall is told to be well, each fault is found in its own line, and nothing is mended."""

from __future__ import annotations

import os
import shutil
from collections import namedtuple
from collections.abc import Callable, Iterator
from dataclasses import replace
from datetime import UTC, datetime, timedelta, timezone
from pathlib import Path

import pytest
from sqlalchemy import text

from drillhall.acts import examine as acts
from drillhall.acts.examine import MIND, WELL, WRONG, Finding, Patient, examine
from drillhall.acts.settle_secret import settle_secret
from drillhall.people import audit, erasing, hall
from drillhall.pictures.storage import FolderStorage, Looked
from drillhall.post import jobs
from drillhall.store import checking
from drillhall.store.session import Store
from tests.cli.halls import make_hall, run
from tests.hashing import light_hashing
from tests.post.postbox import taking
from tests.practice.small_hall import make_small_hall

NOW = datetime(2031, 3, 4, 8, tzinfo=UTC)
NO_MAIL = "This hall sends no mail."
Usage = namedtuple("Usage", "total used free")


@pytest.fixture(scope="module")
def sound(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A sound hall's folder, to copy."""
    with light_hashing():
        data = make_hall(tmp_path_factory.mktemp("sound"))
    data.chmod(0o700)
    store = Store(f"sqlite:///{data / 'hall.sqlite'}")
    with store.work() as db:
        hall.note_backup(db, at=NOW - timedelta(days=1), size=5)
        jobs.take_turn(db, "sum the hall's mix-ups", every=timedelta(hours=6), at=NOW)
    store.close()
    return data


@pytest.fixture
def patient(sound: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[Patient]:
    """A copy of the sound hall, on a disk with room."""
    monkeypatch.setattr(acts.shutil, "disk_usage", lambda _: Usage(10**12, 0, 10**11))
    folder = tmp_path / "hall"
    shutil.copytree(sound, folder)
    store = Store(f"sqlite:///{folder / 'hall.sqlite'}")
    yield Patient(store, FolderStorage(folder / "pictures"), folder, folder / "hall.sqlite", None, NO_MAIL)
    store.close()


def told(patient: Patient) -> dict[str, Finding]:
    return {finding.what: finding for finding in examine(patient, at=NOW)}


def raw(patient: Patient, sql: str) -> None:
    with patient.store.engine.connect() as connection:
        connection.connection.driver_connection.execute("PRAGMA foreign_keys=OFF")  # type: ignore[union-attr]  # there is one
        with connection.begin():
            connection.execute(text(sql))
        connection.connection.driver_connection.execute("PRAGMA foreign_keys=ON")  # type: ignore[union-attr]  # there is one


def test_a_sound_hall_is_well_in_everything(patient: Patient) -> None:
    assert [finding for finding in told(patient).values() if finding.how != WELL] == []
    assert len(told(patient)) == 13


def test_it_says_where_the_secret_lies(patient: Patient) -> None:
    made = settle_secret(patient.store)
    assert told(patient)["secret"].sentence == "The hall's secret lies in its database, and so in its backups."
    named = replace(patient, secret=made, secret_file=patient.folder.parent / "secret")
    assert "and in its database until" in told(named)["secret"].sentence
    settle_secret(patient.store, made)
    assert told(named)["secret"] == Finding(
        "secret", WELL, f"The hall's secret lies in {named.secret_file}, apart from database and backups."
    )
    for folder in (patient.folder, Path(os.path.relpath(patient.folder))):
        inside = replace(named, folder=folder, secret_file=patient.folder / "secret")
        assert told(inside)["secret"].how == MIND, "whoever copies the folder has it"
    assert told(replace(named, secret=made[::-1]))["secret"].how == WRONG
    assert told(patient)["secret"].how == WRONG
    assert made not in repr(named)


def lose_a_file(patient: Patient) -> None:
    patient.storage.delete(next(iter(patient.storage.keys())))


def two_strays(patient: Patient) -> None:
    for name in ("stray", "other"):
        patient.storage.put(name, b"x")


def future(patient: Patient) -> None:
    with patient.store.work() as db:
        audit.note(db, "something", at=NOW + timedelta(hours=1))


def failed_job(patient: Patient) -> None:
    with patient.store.work() as db:
        jobs.note_fault(db, "sum the hall's mix-ups", "ValueError")


def spared(patient: Patient) -> None:
    with patient.store.work() as db:
        erasing.note_spared(db, ("answer",))


def late_jobs(patient: Patient) -> None:
    raw(patient, "UPDATE job SET due_at = '2031-03-01 00:00:00.000000'")


@pytest.mark.parametrize(
    ("spoil", "what", "how", "words"),
    [
        (lambda one: raw(one, "UPDATE alembic_version SET version_num = '29991231_later'"), "version", WRONG, "newer Drillhall"),
        (lambda one: raw(one, "UPDATE alembic_version SET version_num = '20261129_ask_openly'"), "version", MIND, "next start"),
        (lambda one: raw(one, "DELETE FROM alembic_version"), "version", WRONG, "holds no hall"),
        (lambda one: raw(one, "DELETE FROM form"), "keys", WRONG, "catalogue_form.form_id ("),
        (lose_a_file, "pictures", WRONG, "The file of 1 stored size is gone, "),
        (lambda one: one.storage.put("stray", b"x"), "pictures", MIND, "1 file belongs to no picture"),
        (two_strays, "pictures", MIND, "2 files belong to no picture"),
        (lambda one: one.folder.chmod(0o750), "folder", WRONG, "chmod 700"),
        (lambda one: raw(one, "DELETE FROM setting WHERE key = 'last_backup'"), "backup", MIND, "No backup has been taken"),
        (failed_job, "work", MIND, "ValueError"),
        (late_jobs, "work", MIND, "drillhall work"),
        (spared, "erased", MIND, "answer may still hold bytes of whoever was erased"),
        (future, "clock", WRONG, "clock is behind"),
    ],
)
def test_each_fault_is_found_and_hides_no_other(
    patient: Patient, spoil: Callable[[Patient], object], what: str, how: str, words: str
) -> None:
    spoil(patient)
    found = told(patient)
    assert (found[what].how, words in found[what].sentence) == (how, True), found[what]
    assert {finding.what for finding in found.values() if finding.how != WELL} == {what}
    assert told(patient) == found, "nothing was mended by looking"


class Bucketed(FolderStorage):
    """A storage that lies elsewhere and says so; what a real one says, `tests/pictures/test_bucket.py` sees."""

    host, bucket, looked = "storage.example", "hall", Looked()

    def look(self) -> Looked:
        return self.looked


@pytest.mark.parametrize(
    ("looked", "how", "words"),
    [
        (Looked(), WELL, "the bucket hall at storage.example, which the hall alone reads"),
        (Looked("SignatureDoesNotMatch"), WRONG, "AWS_SECRET_ACCESS_KEY"),
        (Looked("NoSuchBucket"), WRONG, "Make the bucket"),
        (Looked("RequestTimeTooSkewed"), WRONG, "clock"),
        (Looked("SSLError"), WRONG, "SSL_CERT_FILE"),
        (Looked("NewConnectionError"), WRONG, "Check DRILLHALL_STORAGE"),
        (Looked(is_open=True), WRONG, "Anybody may read"),
        (Looked(keeps_deleted=True), WRONG, "Switch versions off"),
    ],
)
def test_a_bucket_is_looked_at_too(patient: Patient, looked: Looked, how: str, words: str) -> None:
    storage = Bucketed(patient.folder / "pictures")
    storage.looked = looked
    found = told(replace(patient, storage=storage))
    assert (found["storage"].how, words in found["storage"].sentence) == (how, True), found["storage"]
    assert [one.what for one in found.values() if one.how != WELL] == ([] if how == WELL else ["storage"])


def test_an_old_backup_is_minded(patient: Patient) -> None:
    (finding,) = [one for one in examine(patient, at=NOW + timedelta(days=9)) if one.what == "backup"]
    assert (finding.how, "10 days old" in finding.sentence) == (MIND, True)


@pytest.mark.parametrize(
    ("days", "how", "sentence"),
    [
        (0, WELL, "The hall was restored from the backup of 2031-03-04 08:00 UTC; none was taken since."),
        (9, MIND, "The hall was restored from a backup that is 9 days old, and none was taken since. Take one: drillhall backup FILE."),
    ],
)
def test_a_hall_just_restored_knows_the_backup_that_it_comes_from(patient: Patient, days: int, how: str, sentence: str) -> None:
    with patient.store.work() as db:
        hall.note_restored(db, at=NOW.astimezone(timezone(timedelta(hours=9))), size=5)
    assert [one for one in examine(patient, at=NOW + timedelta(days=days)) if one.what == "backup"] == [Finding("backup", how, sentence)]
    with patient.store.work() as db:
        hall.note_backup(db, at=NOW, size=5)
    assert told(patient)["backup"].sentence == "The last backup was taken on 2031-03-04 08:00 UTC."


@pytest.mark.parametrize(("free", "how"), [(3_000_000_000, WELL), (1_000_000_000, MIND), (100_000_000, WRONG)])
def test_a_disk_that_fills_is_told_in_time(patient: Patient, monkeypatch: pytest.MonkeyPatch, free: int, how: str) -> None:
    monkeypatch.setattr(acts.shutil, "disk_usage", lambda _: Usage(10**12, 0, free))
    assert told(patient)["disk"].how == how


def test_a_damaged_file_is_found(patient: Patient) -> None:
    patient.store.close()
    content = bytearray((patient.folder / "hall.sqlite").read_bytes())
    for place in range(len(content) // 2, len(content) // 2 + 20_000):
        content[place] = 0x5A
    (patient.folder / "hall.sqlite").write_bytes(content)
    found = told(patient)
    assert found["integrity"].how == WRONG
    assert "damaged" in found["integrity"].sentence


def test_a_mail_server_is_called(patient: Patient) -> None:
    with taking() as (box, server):
        there = Patient(patient.store, patient.storage, patient.folder, patient.file, server, "")
        assert told(there)["mail"].how == WELL
        assert box.to == []
    finding = told(there)["mail"]
    assert finding.how == WRONG
    assert "DRILLHALL_SMTP" in finding.sentence


def test_on_postgresql_loose_keys_and_a_clock_apart_are_found_too(postgresql_store: Store) -> None:
    with postgresql_store.work() as db:
        make_small_hall(db)
    assert checking.loose_keys(postgresql_store) == ()
    assert checking.damaged_pages(postgresql_store) == ()
    really = datetime.now(UTC)
    assert abs(checking.clock_apart(postgresql_store, at=really)) < timedelta(seconds=30)
    assert checking.clock_apart(postgresql_store, at=really - timedelta(hours=1)) > timedelta(minutes=59)
    with postgresql_store.work() as db:  # as a superuser may: the keys are not watched
        db.execute(text("SET LOCAL session_replication_role = replica"))
        db.execute(text("UPDATE catalogue_form SET form_id = 9999 WHERE place = 0"))
    assert checking.loose_keys(postgresql_store) == (("catalogue_form.form_id", 1),)


def test_the_command_says_it_line_by_line_and_its_status_tells(sound: Path, tmp_path: Path) -> None:
    folder = tmp_path / "hall"
    shutil.copytree(sound, folder)
    well = run("doctor", "--data", folder)
    names = [line[2:12].strip() for line in well.stdout.splitlines()]
    first = ["version", "integrity", "keys", "storage", "pictures", "folder", "secret"]
    assert names == [*first, "disk", "backup", "mail", "work", "erased", "clock"]
    assert well.exit_code == int("\n! " in f"\n{well.stdout}")
    assert "  folder" in well.stdout
    folder.chmod(0o755)
    ill = run("doctor", "--data", folder)
    assert ill.exit_code == 1
    assert "! folder" in ill.stdout


def test_without_a_hall_it_says_so_and_makes_none(tmp_path: Path) -> None:
    shown = run("doctor", "--data", tmp_path / "nowhere")
    assert (shown.exit_code, shown.stderr.split(" in ")[0]) == (3, "There is no hall")
    assert not (tmp_path / "nowhere").exists()
