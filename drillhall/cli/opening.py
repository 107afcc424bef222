"""Opens a hall for a command: its settings, its folder, its database brought up to date."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any, TypeVar

import click

from drillhall.config import Settings, read_settings
from drillhall.errors import Invalid, NotFound, Unavailable
from drillhall.pictures.storage import FolderStorage, Storage
from drillhall.store.migrating import bring_up_to_date, schema_of
from drillhall.store.session import Store

Command = TypeVar("Command", bound=Callable[..., Any])


def data_option(command: Command) -> Command:
    """Give a command the option that names the hall's data folder."""
    return click.option(
        "--data",
        metavar="FOLDER",
        type=click.Path(file_okay=False, path_type=Path),
        help="The hall's data folder. Without it: $DRILLHALL_DATA, else the system's place for a person's data.",
    )(command)


@contextmanager
def open_hall(data: Path | None = None, *, settings: Settings | None = None) -> Iterator[tuple[Settings, Store]]:
    """Yield a hall's settings and its store, up to date; the folder is made, for its owner's eyes alone."""
    settings = settings or read_settings(data=data)
    make_folder(settings.data_folder)
    store = Store(settings.database_url)
    try:
        with store.look() as db:
            db.connection()  # a database that is away is told in a sentence here
        _bring_up_to_date(settings, store)
        yield settings, store
    finally:
        store.close()


def _bring_up_to_date(settings: Settings, store: Store) -> None:
    """Bring a hall up to date and say what was changed in it; of a new one, whose tables were all made now, only that it is new."""
    is_new = schema_of(store) is None
    names = bring_up_to_date(store)
    if not is_new:
        for name in names:
            click.echo(f"Database brought up to date: {name}", err=True)
    elif not settings.demo:  # which says so itself
        click.echo(f"A new hall is made; its data folder is {settings.data_folder}.", err=True)


@contextmanager
def as_it_is(data: Path | None = None) -> Iterator[tuple[Settings, Store]]:
    """Yield a hall's settings and its store as they are: nothing is made and nothing brought up to date.

    Raises NotFound where there is no hall in the folder.
    """
    settings = read_settings(data=data)
    file = database_file(settings)
    if not settings.data_folder.is_dir() or (file is not None and not file.exists()):
        raise NotFound(f"There is no hall in {settings.data_folder}. Name its data folder with --data.")
    store = Store(settings.database_url)
    try:
        yield settings, store
    finally:
        store.close()


def the_storage(settings: Settings) -> Storage:
    """Return where the bytes of a hall's pictures lie: its folder, or the bucket that its settings name."""
    bucket = settings.bucket
    if bucket is None:
        return FolderStorage(settings.pictures_folder)
    try:
        from drillhall.pictures.bucket import BucketStorage  # an extra, which most halls go without
    except ImportError:
        raise Unavailable("DRILLHALL_STORAGE names a bucket, for which an extra is missing: pip install 'drillhall[s3]'.") from None
    opened_by = {"key_id": bucket.key_id, "secret": bucket.secret, "token": bucket.token}
    return BucketStorage(bucket.host, bucket.name, region=bucket.region, is_https=bucket.is_https, **opened_by)


def database_file(settings: Settings) -> Path | None:
    """Return where the database lies as a file, or None where it is a server."""
    kind, _, rest = settings.database_url.partition(":///")
    return Path(rest) if kind == "sqlite" else None


def make_folder(folder: Path) -> None:
    """Make a data folder where there is none, for its owner's eyes alone, or raise Invalid."""
    try:
        folder.mkdir(mode=0o700, parents=True, exist_ok=True)
    except OSError as error:
        raise Invalid(f"The data folder {folder} cannot be made ({error.strerror}). Name another one with --data.", field="data") from error
