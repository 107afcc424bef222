"""`drillhall backup`: a whole hall in one file, taken while it is open."""

from __future__ import annotations

from datetime import UTC, datetime
from pathlib import Path

import click

from drillhall import __version__
from drillhall.acts.back_up import back_up
from drillhall.cli.counting import counted
from drillhall.cli.opening import as_it_is, data_option, the_storage
from drillhall.cli.progress import progress
from drillhall.people.secret import is_in_database


@click.command()
@click.argument("file", type=click.Path(path_type=Path))
@data_option
def backup(file: Path, data: Path | None) -> None:
    """Write the whole hall into FILE, which must not be there yet: everybody's answers, every picture, every setting.

    The hall may be open meanwhile. Keep the file as you keep the hall: it holds what its people have said, and the hall's secret, unless
    that lies in a file of its own.
    """
    with as_it_is(data) as (settings, store), progress("Backup") as tell:
        storage = the_storage(settings)
        done = back_up(store, storage, file.absolute(), at=datetime.now(UTC), program=__version__, progress=tell)
        with store.look() as db:
            secret = " and the hall's secret" if is_in_database(db) else ""
    click.echo(f"{file}: {counted(done.rows, 'row')} and {counted(done.files, 'file')} of pictures, {done.size / 1e6:.1f} MB.")
    click.echo(f"It holds what people have said{secret}: keep it where nobody else reads it, and not on this disk alone.")
    if not done.is_noted:
        click.echo("The hall could not note that it was taken, so `drillhall doctor` will not know: look at the hall's disk.", err=True)
    if done.missing:
        click.echo(
            f"{counted(len(done.missing), 'file')} of pictures could not be found; `drillhall pictures verify` names them.", err=True
        )
