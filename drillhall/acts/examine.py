"""Looks a hall over and says in words how it is; mends nothing and writes nothing."""

from __future__ import annotations

import os
import shutil
from collections.abc import Callable
from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Final

from drillhall.errors import DrillhallError
from drillhall.people import erasing, hall, secret
from drillhall.pictures.storage import Elsewhere, Storage, orphans
from drillhall.post import jobs, outbox
from drillhall.post.sending import MailServer, NotSent, reach
from drillhall.store import checking
from drillhall.store.migrating import head_schema, is_known, schema_of
from drillhall.store.session import Store

WELL: Final = "well"
MIND: Final = "mind"
WRONG: Final = "wrong"

LITTLE_BYTES: Final = 2_000_000_000
NEXT_TO_NONE_BYTES: Final = 200_000_000
"""An evening's pictures of a club; under it uploads begin to fail."""
OLD_BACKUP: Final = timedelta(days=8)
LATE: Final = timedelta(hours=2)
CLOCK_SLACK: Final = timedelta(minutes=2)
SHOWN: Final = 3


_KEYS: Final = "Check AWS_ACCESS_KEY_ID, AWS_SECRET_ACCESS_KEY and AWS_REGION, and what that key may do: list, get, put, delete."
BUCKET_FAULTS: Final = {
    **dict.fromkeys(("AccessDenied", "InvalidAccessKeyId", "SignatureDoesNotMatch", "ExpiredToken", "InvalidToken"), _KEYS),
    **dict.fromkeys(("AuthorizationHeaderMalformed", "PermanentRedirect", "Redirect"), _KEYS),
    "NoSuchBucket": "Make the bucket, or name another one in DRILLHALL_STORAGE.",
    "RequestTimeTooSkewed": "Set this machine's clock by a time server.",
    "SSLError": "Its certificate is not trusted here; SSL_CERT_FILE may name the authority that signed it.",
}
"""What a storage that speaks S3 says when it refuses, by its own word for it, and how to mend it."""


@dataclass(frozen=True, slots=True)
class Finding:
    """What was looked at, how it is (WELL, MIND or WRONG), and a sentence that says what and what to do."""

    what: str
    how: str
    sentence: str


@dataclass(frozen=True, slots=True)
class Patient:
    """A hall to look over; `server` is None where it sends no mail, and `why_no_mail` says why; `file` is its database, if a file;
    `secret` is what `secret_file` holds, if one is named."""

    store: Store
    storage: Storage
    folder: Path
    file: Path | None
    server: MailServer | None
    why_no_mail: str
    secret: str = field(default="", repr=False)
    secret_file: Path | None = None


def examine(hall_of: Patient, *, at: datetime) -> tuple[Finding, ...]:
    """Look at everything, each by itself, so that one fault hides no other; `at` is this machine's time."""
    looks: tuple[tuple[str, Callable[[], tuple[str, str]]], ...] = (
        ("version", lambda: _version(hall_of.store)),
        ("integrity", lambda: _integrity(hall_of.store)),
        ("keys", lambda: _keys(hall_of.store)),
        ("storage", lambda: _storage(hall_of.storage)),
        ("pictures", lambda: _pictures(hall_of.store, hall_of.storage)),
        ("folder", lambda: _folder(hall_of.folder, hall_of.file)),
        ("secret", lambda: _secret(hall_of)),
        ("disk", lambda: _disk(hall_of.folder)),
        ("backup", lambda: _backup(hall_of.store, at)),
        ("mail", lambda: _mail(hall_of, at)),
        ("work", lambda: _work(hall_of.store, at)),
        ("erased", lambda: _erased(hall_of.store)),
        ("clock", lambda: _clock(hall_of.store, at)),
    )
    return tuple(Finding(what, *_looked(look)) for what, look in looks)


def _looked(look: Callable[[], tuple[str, str]]) -> tuple[str, str]:
    try:
        return look()
    except DrillhallError as error:
        return WRONG, error.sentence
    except OSError as error:
        return WRONG, f"This could not be looked at ({error.strerror or type(error).__name__})."


def _version(store: Store) -> tuple[str, str]:
    engine, now = "SQLite" if store.is_sqlite else "PostgreSQL", schema_of(store)
    if now is None:
        return WRONG, f"The {engine} database holds no hall. Open it once, or restore a backup into it."
    if not is_known(now):
        return WRONG, f"The {engine} database was written by a newer Drillhall ({now}). Start that one, or restore a backup."
    if now != head_schema():
        return MIND, f"The {engine} database is at {now}; the next start of the hall brings it up to {head_schema()}. Take a backup before."
    return WELL, f"The {engine} database is at {now}, which is the newest that this program knows."


def _integrity(store: Store) -> tuple[str, str]:
    found = checking.damaged_pages(store)
    if found:
        return WRONG, f"The database is damaged: {'; '.join(found[:SHOWN])}. Close the hall, keep the file, and restore a backup."
    return WELL, "The database is whole." if store.is_sqlite else "PostgreSQL knows of no damaged page."


def _keys(store: Store) -> tuple[str, str]:
    loose = checking.loose_keys(store)
    if loose:
        told = ", ".join(f"{name} ({count})" for name, count in loose[:SHOWN])
        return (
            WRONG,
            f"Rows point at rows that are not there: {told}. Restore a backup from before, or ask whoever changed the database by hand.",
        )
    return WELL, "Every row that another one points at is there."


def _storage(storage: Storage) -> tuple[str, str]:
    if not isinstance(storage, Elsewhere):
        return WELL, "Pictures lie in the hall's own folder."
    where, looked = f"the bucket {storage.bucket} at {storage.host}", storage.look()
    if looked.fault:
        mend = BUCKET_FAULTS.get(looked.fault, "Check DRILLHALL_STORAGE, and whether this machine reaches that address.")
        return WRONG, f"Pictures lie in {where}, which cannot be read ({looked.fault}). {mend}"
    if looked.is_open:
        return WRONG, f"Anybody may read {where}, people's private pictures too. Take every right to it from those without a key."
    if looked.keeps_deleted:
        return (
            WRONG,
            f"In {where} what is deleted stays as an older version, also of whoever was erased. Switch versions off and drop them.",
        )
    return WELL, f"Pictures lie in {where}, which the hall alone reads. Whether it may write there, the next picture shows."


def _pictures(store: Store, storage: Storage) -> tuple[str, str]:
    with store.look() as db:
        left = orphans(db, storage)
    if left.rows:
        gone = _many(len(left.rows), "The file of {n} stored size is", "The files of {n} stored sizes are")
        return WRONG, f"{gone} gone, {left.rows[0]} first. See: drillhall pictures verify --mend."
    if left.files:
        stray = _many(len(left.files), "{n} file belongs", "{n} files belong")
        return MIND, f"{stray} to no picture, or to one that is just being sent. See: drillhall pictures sweep."
    return WELL, "Every stored size of a picture has its file, and every file its picture."


def _folder(folder: Path, file: Path | None) -> tuple[str, str]:
    lacking = [str(path) for path in (folder, file) if path is not None and not os.access(path, os.R_OK | os.W_OK)]
    if lacking:
        return WRONG, f"{lacking[0]} cannot be written by whoever runs this. Give it back to the hall's own account."
    if os.name == "posix" and (mode := folder.stat().st_mode & 0o077):
        return WRONG, f"{folder} is open to other accounts of this machine (mode {mode:03o} beyond its owner). Shut it: chmod 700."
    return WELL, f"{folder} is its owner's alone, and can be written."


def _secret(hall_of: Patient) -> tuple[str, str]:
    with hall_of.store.look() as db:
        secret.check(db, hall_of.secret)
        is_in_database = secret.is_in_database(db)
    file = hall_of.secret_file
    if file is None:
        return WELL, f"The hall's secret lies in its database{', and so in its backups' if is_in_database else ' once it was opened'}."
    if is_in_database:
        return MIND, f"The hall's secret lies in {file}, and in its database until the hall is opened with that file."
    if file.resolve().is_relative_to(hall_of.folder.resolve()):
        return MIND, f"The hall's secret lies in {file}: whoever copies that folder has both. Put it elsewhere."
    return WELL, f"The hall's secret lies in {file}, apart from database and backups."


def _disk(folder: Path) -> tuple[str, str]:
    free = shutil.disk_usage(folder).free
    how = WRONG if free < NEXT_TO_NONE_BYTES else MIND if free < LITTLE_BYTES else WELL
    mend = "" if how == WELL else " Make room before pictures are refused."
    return how, f"{free / 1e9:.1f} GB are free on its disk.{mend}"


def _backup(store: Store, at: datetime) -> tuple[str, str]:
    with store.look() as db:
        last = hall.last_backup(db)
    if last is None:
        return MIND, "No backup has been taken yet. Take one: drillhall backup FILE."
    days, taken = (at - last.at) // timedelta(days=1), f"{last.at.astimezone(UTC):%Y-%m-%d %H:%M} UTC"
    if at - last.at > OLD_BACKUP:
        old = f"The hall was restored from a backup that is {days} days old, and none was taken since."
        return MIND, f"{old if last.is_restored else f'The last backup is {days} days old.'} Take one: drillhall backup FILE."
    if last.is_restored:
        return WELL, f"The hall was restored from the backup of {taken}; none was taken since."
    return WELL, f"The last backup was taken on {taken}."


def _mail(hall_of: Patient, at: datetime) -> tuple[str, str]:
    if hall_of.server is None:
        return WELL, hall_of.why_no_mail
    try:
        reach(hall_of.server)
    except NotSent as error:
        return WRONG, f"No mail can go: {error}. Check DRILLHALL_SMTP."
    with hall_of.store.look() as db:
        post = outbox.the_state(db)
    wait = _many(post.waiting, "{n} letter waits", "{n} letters wait")
    if post.waiting and post.fault:
        return MIND, f"The mail server answers; {wait}, {_many(post.waiting, '', 'one of them ')}because {post.fault}."
    return WELL, f"The mail server answers; {wait}."


def _work(store: Store, at: datetime) -> tuple[str, str]:
    with store.look() as db:
        known = jobs.list_jobs(db)
    failed = [job for job in known if job.fault]
    if failed:
        return MIND, f"What recurs, {failed[0].name!r}, ended with a fault: {failed[0].fault}. faults.log tells where."
    if known and all(job.due_at < at - LATE for job in known):
        return MIND, "Nothing that recurs has run for a while: the hall is closed. Open it, or let drillhall work run beside it."
    return WELL, "What recurs has run without a fault." if known else "Nothing has had to recur yet."


def _erased(store: Store) -> tuple[str, str]:
    with store.look() as db:
        note, spared = erasing.noted_in_files(db), erasing.list_spared(db)
    if spared:
        told = f"{', '.join(spared[:SHOWN])} may still hold bytes of whoever was erased: too large to be written anew while people wait."
        return MIND, f"{told} When nobody is there: drillhall rewrite."
    return WELL, "The bytes of whoever was erased go within the hour." if note else "Nothing is left to do for whoever was erased."


def _clock(store: Store, at: datetime) -> tuple[str, str]:
    newest, apart = checking.newest_instant(store), checking.clock_apart(store, at=at)
    if newest is not None and newest > at + CLOCK_SLACK:
        return (
            WRONG,
            f"This machine's clock is behind what was written last ({newest:%Y-%m-%d %H:%M} UTC). Set it; drills would be planned amiss.",
        )
    if abs(apart) > CLOCK_SLACK:
        return (
            WRONG,
            f"The database server's clock is {abs(apart).total_seconds():.0f} seconds from this machine's. Set both by a time server.",
        )
    return WELL, f"This machine says {at:%Y-%m-%d %H:%M} UTC, after all that was written."


def _many(n: int, one: str, many: str) -> str:
    return (one if n == 1 else many).format(n=n)
