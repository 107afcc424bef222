"""Has somebody erase herself from a hall in use, and looks for a trace of her in every file of its folder and in a backup taken after."""

from __future__ import annotations

import zipfile
from collections.abc import Iterator
from datetime import UTC, datetime
from functools import partial
from pathlib import Path
from typing import Final
from uuid import uuid4

from sqlalchemy import insert, select

from drillhall.post import outbox
from drillhall.post.mail import Block
from drillhall.post.outbox import Envelope
from drillhall.store.models.catalogue import PairSetRow
from drillhall.store.models.groups import GroupRow
from drillhall.store.models.open_questions import OpenQuestionRow
from drillhall.store.models.pictures import PictureRow
from drillhall.store.models.post import AddressRow, LetterRow, SubscriptionRow
from tests.cast import Someone
from tests.engines import ENGINES
from tests.faults.checking import losses
from tests.faults.halls import LEARNERS, Hall, enrol, serving
from tests.faults.loading import Learner, Ledger, Sender
from tests.faults.rows import Ground, Row, Told
from tests.faults.visitors import Visitor

HER: Final = Someone("Quendrida Uskleigh", "the tern that never came to land", "UTC")
ADDRESS: Final = "quendrida.uskleigh@mail.example"
ANSWERS: Final = 20
MAIL: Final = {
    "DRILLHALL_PUBLIC_URL": "http://hall.example",
    "DRILLHALL_SMTP": "smtp://127.0.0.1:9",  # where nobody listens: letters wait in the hall
    "DRILLHALL_MAIL_FROM": "The hall <hall@hall.example>",
}


def rows() -> list[Row]:
    """Return the rows."""
    does = "somebody erases herself on {}: no trace of her in database, files, logs and a backup taken after"
    return [Row(f"erased:{engine}", does.format(engine), partial(_erases, engine)) for engine in ENGINES]


def _erases(engine: str, ground: Ground, told: Told) -> None:
    hall, ledger, dice = ground.place.hall(engine), Ledger(), ground.dice(f"erased {engine}")
    hall.environment |= MAIL
    enrol(hall, HER)
    with serving(hall) as (server,):
        her = Visitor(HER, [server.port], dice)
        her.sign_in()
        learner, sender = Learner(her, Ledger()), Sender(her, Ledger())
        while len(learner.ledger.known) < ANSWERS:
            learner.step()
        for _ in range(2):
            sender.step()
        her.ask("GET", f"/nowhere/{HER.name.replace(' ', '-')}")
        beside = Learner(Visitor(LEARNERS[0], [server.port], dice), ledger)
        beside.visitor.sign_in()
        while len(ledger.known) < ANSWERS:
            beside.step()
        beside.visitor.post_form("/groups", title="The mud walkers", kind="club")
        named = _writes_to(hall, her)
        signs = _signs_of(hall, learner.ledger, sender.ledger) | named
        before = [content.lower() for _, content in _places(hall, ground.place.folder / f"{hall.folder.name}-before.zip")]
        unseen = [sign for sign in signs if not any(sign.lower() in content for content in before)]
        told.wants(not unseen, f"this row looks for what was never there: {unseen}")
        gone = her.post_form("/you/erase", passphrase=HER.passphrase, for_good="on", pictures="take")
        told.wants(gone.status == 303, f"erasing answered {gone.status}: {gone.words[:500]}")
        told.count("signs of her", len(signs))
        told.lost += _traces(hall, signs, ground.place.folder / f"{hall.folder.name}-after.zip", told)
    told.lost += [*ledger.strange, *losses(hall, ledger)]
    told.lost += _traces(hall, signs, ground.place.folder / f"{hall.folder.name}-closed.zip", told)


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


def _traces(hall: Hall, signs: frozenset[bytes], backup: Path, told: Told) -> list[str]:
    places = list(_places(hall, backup))
    told.count("places searched", len(places))
    return [f"{name} tells of her: {sign.decode()}" for name, content in places for sign in signs if sign.lower() in content.lower()]


def _places(hall: Hall, backup: Path) -> Iterator[tuple[str, bytes]]:
    """Yield every file of a hall's folder and every entry of a backup taken now, with its bytes; the name is searched with them."""
    for path in sorted(path for path in hall.folder.rglob("*") if path.is_file()):
        yield str(path), str(path.relative_to(hall.folder)).encode() + path.read_bytes()
    done = hall.command("backup", backup)
    if done.returncode != 0:
        raise RuntimeError(f"the backup ended with {done.returncode}: {done.stderr}")
    with zipfile.ZipFile(backup) as packed:
        for name in packed.namelist():
            yield f"{backup.name}: {name}", name.encode() + packed.read(name)
