"""Has somebody erase herself from a hall in use, and looks for a trace of her in every file of its folder and in a backup taken after."""

from __future__ import annotations

import zipfile
from collections.abc import Iterator
from functools import partial
from pathlib import Path
from typing import Final

from sqlalchemy import select

from drillhall.store.models.pictures import PictureRow
from tests.cast import Someone
from tests.engines import ENGINES
from tests.faults.checking import losses
from tests.faults.halls import LEARNERS, Hall, enrol, serving
from tests.faults.loading import Learner, Ledger, Sender
from tests.faults.rows import Ground, Row, Told
from tests.faults.visitors import Visitor

HER: Final = Someone("Quendrida Uskleigh", "the tern that never came to land", "UTC")
ANSWERS: Final = 20


def rows() -> list[Row]:
    """Return the rows."""
    does = "somebody erases herself on {}: no trace of her in database, files, logs and a backup taken after"
    return [Row(f"erased:{engine}", does.format(engine), partial(_erases, engine)) for engine in ENGINES]


def _erases(engine: str, ground: Ground, told: Told) -> None:
    hall, ledger, dice = ground.place.hall(engine), Ledger(), ground.dice(f"erased {engine}")
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
        signs = _signs_of(hall, learner.ledger, sender.ledger)
        before = [content.lower() for _, content in _places(hall, ground.place.folder / f"{hall.folder.name}-before.zip")]
        unseen = [sign for sign in signs if not any(sign.lower() in content for content in before)]
        told.wants(not unseen, f"this row looks for what was never there: {unseen}")
        gone = her.post_form("/you/erase", passphrase=HER.passphrase, for_good="on", pictures="take")
        told.wants(gone.status == 303, f"erasing answered {gone.status}: {gone.words[:500]}")
        told.count("signs of her", len(signs))
        told.lost += _traces(hall, signs, ground.place.folder / f"{hall.folder.name}-after.zip", told)
    told.lost += [*ledger.strange, *losses(hall, ledger)]
    told.lost += _traces(hall, signs, ground.place.folder / f"{hall.folder.name}-closed.zip", told)


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
