"""Has somebody erase herself from a hall in use, and looks for a trace of her in every file of its folder, in a backup taken after, and,
once the hall has done its hourly work, in the bytes of its database's own files: SQLite's, or PostgreSQL's whole data folder.
"""

from __future__ import annotations

import tempfile
import zipfile
from collections.abc import Iterable, Iterator
from contextlib import contextmanager, suppress
from datetime import UTC, datetime
from functools import partial
from pathlib import Path
from typing import Final
from uuid import uuid4

from sqlalchemy import insert, select, update

from drillhall.people import erasing
from drillhall.post import outbox
from drillhall.post.mail import Block
from drillhall.post.outbox import Envelope
from drillhall.store.models.catalogue import PairSetRow
from drillhall.store.models.groups import GroupRow
from drillhall.store.models.open_questions import OpenQuestionRow
from drillhall.store.models.pictures import PictureRow
from drillhall.store.models.post import AddressRow, JobRow, LetterRow, SubscriptionRow
from tests import engines
from tests.cast import Someone
from tests.faults.checking import losses
from tests.faults.halls import LEARNERS, Hall, Workplace, enrol, serving
from tests.faults.loading import Learner, Ledger, Sender
from tests.faults.rows import Ground, Row, Told
from tests.faults.visitors import Visitor

HER: Final = Someone("Quendrida Uskleigh", "the tern that never came to land", "UTC")
ADDRESS: Final = "quendrida.uskleigh@mail.example"
ANSWERS: Final = 20
MOST_LEFT: Final = 0.1
"""SQLite overwrites what is deleted, but for what a page left behind when it was split: of one row in a thousand."""
MOST_HOURS: Final = 5
MAIL: Final = {
    "DRILLHALL_PUBLIC_URL": "http://hall.example",
    "DRILLHALL_SMTP": "smtp://127.0.0.1:9",  # where nobody listens: letters wait in the hall
    "DRILLHALL_MAIL_FROM": "The hall <hall@hall.example>",
}


def rows() -> list[Row]:
    """Return the rows."""
    does = (
        "somebody erases herself on {}: no trace of her in database, files, logs and a backup taken after, nor in the database's own files"
    )
    return [Row(f"erased:{engine}", does.format(engine), partial(_erases, engine)) for engine in engines.ENGINES]


@contextmanager
def a_hall(engine: str, ground: Ground) -> Iterator[tuple[Hall, Path]]:
    """Yield a hall, and the folder in which its database has its files; a PostgreSQL of its own, which lets its log go once it may."""
    if engine == "sqlite":
        hall = ground.place.hall(engine)
        yield hall, hall.folder
        return
    with engines.a_server() as server:
        server.start(f"{engines.LASTING} -c wal_recycle=off")
        folder = Path(tempfile.mkdtemp(dir=ground.place.folder))
        yield Workplace(folder, {engine: server.dsn}).hall(engine), server.data


def _erases(engine: str, ground: Ground, told: Told) -> None:
    ledger, dice = Ledger(), ground.dice(f"erased {engine}")
    with a_hall(engine, ground) as (hall, files):
        hall.environment |= MAIL
        enrol(hall, HER)
        with serving(hall) as (server,):
            her = Visitor(HER, [server.port], dice)
            beside = Learner(Visitor(LEARNERS[0], [server.port], dice), ledger)
            signs = _leaves_signs(hall, her, beside)
            let_files_be_written(hall, "ANALYZE")  # so that samples of what stands in columns are kept as well
            seen = signs_in([*_places(hall, _backup(hall, "before")), *files_of(files)], signs)
            told.wants(seen == signs, f"this row looks for what was never there: {signs - seen}")
            told.wants(signs_in(files_of(files), signs) == signs, "not all of her was in the database's own files")
            gone = her.post_form("/you/erase", passphrase=HER.passphrase, for_good="on", pictures="take")
            told.wants(gone.status == 303, f"erasing answered {gone.status}: {gone.words[:500]}")
            told.count("signs of her", len(signs))
            told.lost += _traces(hall, signs, "after", told)
            if hall.is_sqlite:
                left = len(signs_in(files_of(files), signs))
                told.count("of them still in the file at once", left)
                told.wants(left <= MOST_LEFT * len(signs), f"of {len(signs)} signs of her {left} are in SQLite's file when she is told")
            _do_what_is_hourly(hall, told)
            told.lost += left_in_files(hall, files, signs, told)
        told.lost += [*ledger.strange, *losses(hall, ledger)]
        told.lost += [*_traces(hall, signs, "closed", told), *left_in_files(hall, files, signs, told)]


def _leaves_signs(hall: Hall, her: Visitor, beside: Learner) -> frozenset[bytes]:
    """Let her use the hall, and somebody beside her; return what tells of her."""
    her.sign_in()
    learner, sender = Learner(her, Ledger()), Sender(her, Ledger())
    while len(learner.ledger.known) < ANSWERS:
        learner.step()
    for _ in range(2):
        sender.step()
    her.ask("GET", f"/nowhere/{HER.name.replace(' ', '-')}")
    beside.visitor.sign_in()
    while len(beside.ledger.known) < ANSWERS:
        beside.step()
    beside.visitor.post_form("/groups", title="The mud walkers", kind="club")
    named = _writes_to(hall, her)
    return _signs_of(hall, learner.ledger, sender.ledger) | named


def _do_what_is_hourly(hall: Hall, told: Told) -> None:
    """Do what the hall does each hour, now; where a table was in use, once more."""
    for _ in range(MOST_HOURS):
        with hall.store() as store, store.work() as db:
            db.execute(update(JobRow).values(due_at=datetime.now(UTC)))
        done = hall.command("work", "--once")
        told.wants(done.returncode == 0, f"the hall's work ended with {done.returncode}: {done.stderr[-1000:]}")
        with hall.store() as store, store.look() as db:
            if not erasing.noted_in_files(db):
                return
    told.lost.append(f"in {MOST_HOURS} rounds the hall did not write its files anew")


def let_files_be_written(hall: Hall, *first: str) -> None:
    """Have PostgreSQL write all it holds in memory into its files, and let go what it needs no more of these and of its log."""
    if hall.is_sqlite:
        return
    with hall.store() as store, store.engine.connect().execution_options(isolation_level="AUTOCOMMIT") as connection:
        for words in (*first, "CHECKPOINT", "SELECT pg_switch_wal()", "CHECKPOINT"):
            connection.exec_driver_sql(words)


def left_in_files(hall: Hall, files: Path, signs: frozenset[bytes], told: Told) -> list[str]:
    """Look for her in every byte of the database's own files."""
    let_files_be_written(hall)
    places = list(files_of(files))
    told.count("files of the database searched", len(places))
    told.count("MB of them", sum(len(content) for _, content in places) // 10**6)
    return [f"{name} holds {sign.decode()}" for name, content in places for sign in signs_in([(name, content)], signs)]


def files_of(folder: Path) -> Iterator[tuple[str, bytes]]:
    """Yield every file of a folder with its bytes; one that goes meanwhile is gone."""
    for path in sorted(folder.rglob("*")):
        with suppress(FileNotFoundError):
            if path.is_file():
                yield str(path), path.read_bytes()


def signs_in(places: Iterable[tuple[str, bytes]], signs: frozenset[bytes]) -> frozenset[bytes]:
    found: set[bytes] = set()
    for _, content in places:
        lowered = content.lower()
        found |= {sign for sign in signs if sign.lower() in lowered}
    return frozenset(found)


def _writes_to(hall: Hall, her: Visitor) -> frozenset[bytes]:
    """Have the hall reach her by mail, and an open question go there each day; return what tells of it."""
    asked = her.post_form("/settings/mail", address=ADDRESS)
    if asked.status != 303:
        raise RuntimeError(f"asking for mail answered {asked.status}: {asked.words[:500]}")
    at, public_url = datetime.now(UTC), MAIL["DRILLHALL_PUBLIC_URL"]
    with hall.store() as store, store.look() as db:
        text = db.scalars(select(LetterRow.text).where(LetterRow.address == ADDRESS)).one()
    (link,) = [word.removeprefix(public_url) for word in text.split() if word.startswith(f"{public_url}/mail/")]
    confirmed = her.post_form(link, page="yes")
    if confirmed.status != 303:
        raise RuntimeError(f"confirming the address answered {confirmed.status}: {confirmed.words[:500]}")
    with hall.store() as store, store.work() as db:
        row = db.scalars(select(AddressRow).where(AddressRow.address == ADDRESS, AddressRow.confirmed_at.is_not(None))).one()
        where = {"group_id": db.scalars(select(GroupRow.id)).one(), "pair_set_id": db.scalars(select(PairSetRow.id)).first()}
        question = {"public_id": str(uuid4()), "title": "Which is it?", "zone": "UTC", "seed": "s", "sites": [], "feed_id": "urn:q"}
        number = db.scalar(
            insert(OpenQuestionRow).values(where | question | {"first_day": at.date(), "made_at": at}).returning(OpenQuestionRow.id)
        )
        hers = {"question_id": number, "public_id": str(uuid4()), "address": ADDRESS, "asked_at": at, "confirmed_at": at}
        subscribed = db.scalar(insert(SubscriptionRow).values(hers).returning(SubscriptionRow.id))
        for key, told in (("reminder", {"account_id": row.account_id}), ("question", {"subscription_id": subscribed})):
            envelope = Envelope(f"{key} of {row.public_id}", key, ADDRESS, **told)
            outbox.put(db, envelope, f"For {HER.name}", [Block(f"{HER.name}, look.")], public_url=public_url, at=at)
        return frozenset(sign.encode() for sign in (ADDRESS, row.public_id, str(hers["public_id"])))


def _signs_of(hall: Hall, answers: Ledger, pictures: Ledger) -> frozenset[bytes]:
    """Return what tells of her: her name, her answers' ids, the sums of her pictures and the names that the hall gave them."""
    with hall.store() as store, store.look() as db:
        named = db.scalars(select(PictureRow.public_id).where(PictureRow.content_sha256.in_(pictures.pictures_known))).all()
    return frozenset(sign.encode() for sign in (HER.name, *answers.known, *pictures.pictures_known, *named))


def _backup(hall: Hall, when: str) -> Path:
    return hall.folder.parent / f"{hall.folder.name}-{when}.zip"


def _traces(hall: Hall, signs: frozenset[bytes], when: str, told: Told) -> list[str]:
    """Look for her in every file of a hall's folder but its database, and in a backup taken now."""
    places = [place for place in _places(hall, _backup(hall, when)) if "hall.sqlite" not in place[0]]
    told.count("places searched", len(places))
    return [f"{name} tells of her: {sign.decode()}" for name, content in places for sign in signs_in([(name, content)], signs)]


def _places(hall: Hall, backup: Path) -> Iterator[tuple[str, bytes]]:
    """Yield every file of a hall's folder and every entry of a backup taken now, with its bytes; the name is searched with them."""
    for name, content in files_of(hall.folder):
        yield name, str(Path(name).relative_to(hall.folder)).encode() + content
    done = hall.command("backup", backup)
    if done.returncode != 0:
        raise RuntimeError(f"the backup ended with {done.returncode}: {done.stderr}")
    with zipfile.ZipFile(backup) as packed:
        for name in packed.namelist():
            yield f"{backup.name}: {name}", name.encode() + packed.read(name)
