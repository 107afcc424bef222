"""A hall for commands about pictures: a keeper, a learner and somebody else, a small catalogue, and folders of pictures."""

from __future__ import annotations

import csv
from collections.abc import Iterator, Mapping, Sequence
from contextlib import contextmanager
from datetime import UTC, datetime
from pathlib import Path

from click.testing import CliRunner, Result
from sqlalchemy import select
from sqlalchemy.orm import Session

from drillhall.cli import main
from drillhall.people import accounts
from drillhall.store.migrating import bring_up_to_date
from drillhall.store.models.pictures import PictureRow
from drillhall.store.session import Store
from tests import cast
from tests.acts.pictures import jpeg
from tests.catalogues import folders

AT = datetime(2031, 3, 3, 8, 0, tzinfo=UTC)
HER = cast.LEARNER.name


def run(*words: str | Path, **named: object) -> Result:
    """Run a command."""
    return CliRunner().invoke(main, [str(word) for word in words], **named)  # type: ignore[arg-type]


def make_hall(place: Path) -> Path:
    """Make a hall with people and a catalogue, and return its data folder."""
    data = place / "hall"
    data.mkdir()
    with _store(data) as store:
        bring_up_to_date(store)
        with store.work() as db:
            for one in (cast.KEEPER, cast.LEARNER, cast.STRANGER):
                accounts.make_account(db, name=one.name, passphrase=one.passphrase, at=AT, is_keeper=one is cast.KEEPER)
    mudflat = folders.write(place / "mudflat", files={"a.jpg": jpeg(1)})
    assert run("import", mudflat, "--data", data).exit_code == 0
    return data


def write_pictures(folder: Path, files: Mapping[str, bytes], rows: Sequence[Mapping[str, str]] = ()) -> Path:
    """Write files, and a pictures.csv where there are rows."""
    folder.mkdir(parents=True)
    for name, content in files.items():
        (folder / name).parent.mkdir(parents=True, exist_ok=True)
        (folder / name).write_bytes(content)
    if rows:
        with (folder / "pictures.csv").open("w", encoding="utf-8", newline="") as file:
            writer = csv.DictWriter(file, list(dict.fromkeys(name for row in rows for name in row)), restval="")
            writer.writeheader()
            writer.writerows(rows)
    return folder


@contextmanager
def _store(data: Path) -> Iterator[Store]:
    store = Store(f"sqlite:///{data / 'hall.sqlite'}")
    try:
        yield store
    finally:
        store.close()


@contextmanager
def opened(data: Path) -> Iterator[Session]:
    """Yield a session that commits, to look at a hall or to break it."""
    with _store(data) as store, store.work() as db:
        yield db


def hers(db: Session, name: str = HER) -> list[PictureRow]:
    """Return somebody's pictures in the order in which they were added."""
    owner = accounts.the_person_called(db, name).id
    return list(db.scalars(select(PictureRow).where(PictureRow.owner_id == owner).order_by(PictureRow.id)))
