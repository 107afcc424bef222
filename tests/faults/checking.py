"""Looks whether a hall lost anything, after harm was done to it: what was acknowledged is there once, sums are sums, nothing is half."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from datetime import UTC, datetime, timedelta

from sqlalchemy import func, select
from sqlalchemy.orm import Session

from drillhall.pictures.storage import orphans
from drillhall.pictures.sweeping import sweep
from drillhall.practice import folding
from drillhall.store.base import Row
from drillhall.store.checking import damaged_pages, loose_keys
from drillhall.store.models.catalogue import CatalogueRow
from drillhall.store.models.people import AccountRow
from drillhall.store.models.pictures import FileRow, PictureRow, RightsRow
from drillhall.store.models.practice import AnswerRow
from drillhall.store.session import Store
from tests.faults.halls import Hall
from tests.faults.loading import SENDER, Ledger
from tests.faults.tides import WHOLE
from tests.practice.rows import answers, folded


def losses(hall: Hall, ledger: Ledger) -> list[str]:
    """Return a sentence for everything that is lost, doubled, half there or at odds; empty where all is well."""
    with hall.store() as store:
        found = [*damaged_pages(store), *(f"{count} rows of {name} point at nothing" for name, count in loose_keys(store))]
        with store.look() as db:
            found += [*_answers(db, ledger), *_pictures(db, ledger), *_catalogues(db, ledger)]
            found += [f"the row of {key} has no file" for key in orphans(db, hall.storage).rows]
        return found + refold_differs(store)


def _answers(db: Session, ledger: Ledger) -> Iterator[str]:
    there = Counter(db.scalars(select(AnswerRow.id)))
    yield from (f"answer {one} was acknowledged and is gone" for one in ledger.known - there.keys())
    yield from (f"answer {one} is there and was never sent" for one in there.keys() - ledger.sent)
    yield from (f"answer {one} is there {times} times" for one, times in there.items() if times > 1)


def _pictures(db: Session, ledger: Ledger) -> Iterator[str]:
    sender = db.scalars(select(AccountRow.id).where(AccountRow.name == SENDER.name)).one()
    there = Counter(db.scalars(select(PictureRow.content_sha256).where(PictureRow.owner_id == sender)))
    yield from (f"picture {one} was acknowledged and is gone" for one in ledger.pictures_known - there.keys())
    yield from (f"picture {one} is there and was never sent" for one in there.keys() - ledger.pictures_sent)
    yield from (f"picture {one} is there {times} times" for one, times in there.items() if times > 1)
    bare = select(PictureRow.public_id).where(~select(FileRow.id).where(FileRow.picture_id == PictureRow.id).exists())
    yield from (f"picture {one} has no file" for one in db.scalars(bare))
    mute = select(PictureRow.public_id).where(~select(RightsRow.picture_id).where(RightsRow.picture_id == PictureRow.id).exists())
    yield from (f"picture {one} has no rights" for one in db.scalars(mute))


def _catalogues(db: Session, ledger: Ledger) -> Iterator[str]:
    there = {row.key: row.id for row in db.scalars(select(CatalogueRow)) if row.key.startswith("tide-")}
    yield from (f"catalogue {one} was acknowledged and is gone" for one in ledger.catalogues_known - there.keys())
    yield from (f"catalogue {one} is there and nobody asked for it" for one in there.keys() - ledger.catalogues_sent)
    for key, number in there.items():
        for name, wanted in WHOLE.items():
            table = Row.metadata.tables[name]
            count = db.scalar(select(func.count()).select_from(table).where(table.c.catalogue_id == number))
            if count != wanted:
                yield f"catalogue {key} has {count} rows of {name}, not {wanted}"


class _Back(Exception):
    """Takes a work back."""


def refold_differs(store: Store) -> list[str]:
    """Return what a refold of the whole log would change; nothing is kept of it."""
    try:
        with store.work() as db:
            before, log = folded(db), answers(db)
            folding.rebuild(db)
            after = folded(db)
            found = [f"{name} is not what its answers give" for name in before if before[name] != after[name]]
            found += ["the refold changed the answers themselves"] if answers(db) != log else []
            raise _Back
    except _Back:
        return found


def swept(hall: Hall) -> tuple[int, list[str]]:
    """Let go what broken-off uploads left behind, as the keeper's sweep does; return how many files, and what is left all the same."""
    now = datetime.now(UTC)
    with hall.store() as store:
        gone = hall.storage.drop_unfinished(before=now + timedelta(hours=1))
        for at, delete in ((now, False), (now + timedelta(hours=2), True)):
            with store.work() as db:
                gone += sweep(db, hall.storage, orphans(db, hall.storage), at=at, delete=delete).files_gone
        with store.look() as db:
            left = orphans(db, hall.storage)
    unfinished = [path.name for path in hall.storage.folder.rglob(".unfinished-*")]
    return gone, [f"{one} is left over" for one in (*left.files, *left.rows, *unfinished)]


def rebuilt(hall: Hall) -> list[str]:
    """Run `drillhall rebuild` and `drillhall pictures verify`; return what either finds or changes."""
    with hall.store() as store, store.look() as db:
        before = folded(db)
    told = hall.command("rebuild")
    found = [] if told.returncode == 0 else [f"rebuild ended with {told.returncode}: {told.stderr}"]
    with hall.store() as store, store.look() as db:
        after = folded(db)
    found += [f"rebuild changed {name}" for name in before if before[name] != after[name]]
    verified = hall.command("pictures", "verify")
    return found + ([] if verified.returncode == 0 else [f"pictures verify: {verified.stdout}{verified.stderr}"])
