"""`drillhall restore`: a backup into an empty hall, on either engine."""

from __future__ import annotations

from contextlib import suppress
from pathlib import Path

import click

from drillhall.acts.restore import restore as put_back
from drillhall.cli.counting import counted
from drillhall.cli.opening import data_option, make_folder, the_storage
from drillhall.cli.progress import progress
from drillhall.config import read_settings
from drillhall.errors import Unavailable
from drillhall.people import hall
from drillhall.store.archive import Archive
from drillhall.store.session import Store


@click.command()
@click.argument("file", type=click.Path(path_type=Path))
@data_option
def restore(file: Path, data: Path | None) -> None:
    """Put the backup FILE into an empty hall: whole, or not at all.

    SQLite or PostgreSQL, whichever the hall that it is put into uses. Everybody is signed in and everything is as it was then. Do it
    before that hall is opened.
    """
    settings = read_settings(data=data)
    with Archive(file) as archive:
        make_folder(settings.data_folder)
        store = Store(settings.database_url)
        try:
            with progress("Restore") as tell:
                migrations = put_back(store, the_storage(settings), archive, progress=tell)
            with suppress(Unavailable), store.work() as db:  # it is back all the same
                hall.note_restored(db, at=archive.head.taken, size=file.stat().st_size)
        finally:
            store.close()
        for name in migrations:
            click.echo(f"Database brought up to date: {name}", err=True)
        rows, files = sum(archive.head.rows.values()), len(archive.keys)
        taken_at = archive.head.taken_at[:16].replace("T", " ")
        click.echo(f"The hall of {taken_at} UTC is back: {counted(rows, 'row')} and {counted(files, 'file')} of pictures.")
        if archive.head.missing:
            lost = counted(len(archive.head.missing), "file")
            click.echo(f"{lost} of pictures could not be found when it was taken; `drillhall pictures sweep` names them.", err=True)
