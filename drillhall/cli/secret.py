"""`drillhall secret`: moves the hall's secret into a file apart from its database, and puts another one in its place."""

from __future__ import annotations

import os
from contextlib import suppress
from datetime import UTC, datetime
from pathlib import Path

import click

from drillhall.acts.erase_person import clear_files
from drillhall.cli.opening import data_option, open_hall
from drillhall.errors import Conflict, DrillhallError, Unavailable
from drillhall.people import audit
from drillhall.people import secret as hall_secret
from drillhall.pictures.storage import sync_folder

ENDS = "Every sign-in, code to join, mailed link and second step by phone ends; links to join, passkeys and spare codes go on."


@click.group()
def secret() -> None:
    """See to the hall's secret, by which it signs forms and links and derives second steps."""


@secret.command()
@click.argument("file", type=click.Path(path_type=Path))
@data_option
def move(file: Path, data: Path | None) -> None:
    """Write the hall's secret into the new FILE, for your eyes alone, and take it out of the database.

    From then on a copy of the database, or a backup, does not hold it, and the hall opens with DRILLHALL_SECRET_FILE set to FILE alone.
    """
    with open_hall(data) as (_, store):
        with store.work() as db:
            found = hall_secret.take_out(db)
        _write(file, found)
        try:
            with store.work() as db:
                hall_secret.keep_apart(db, found)
                audit.note(db, "secret moved", at=datetime.now(UTC))
        except DrillhallError:  # a commit whose answer was lost may have come through, so the file stays
            click.echo(f"{file} is written. Open the hall with DRILLHALL_SECRET_FILE={file.absolute()}: that does the rest.", err=True)
            raise
        with suppress(Unavailable):  # somebody has the database: the hall's own work does it within the hour
            clear_files(store)
    click.echo(f"Moved. Start the hall with DRILLHALL_SECRET_FILE={file.absolute()} from now on, also where it is open just now.")
    click.echo("Without that file nobody opens it: keep a copy, though not beside the backups. Those taken before hold the secret still.")


@secret.command()
@data_option
@click.option("--yes", is_flag=True, help="Do not ask.")
def renew(data: Path | None, yes: bool) -> None:
    """Put another secret in the place of the hall's: the one in the file that DRILLHALL_SECRET_FILE names, else a new one.

    Close the hall before. Every sign-in, code to join, mailed link and second step by phone ends.
    """
    with open_hall(data) as (settings, store):
        if not yes:
            click.confirm(f"{ENDS} Put another secret in its place?", abort=True)
        with store.work() as db:
            hall_secret.renew(db, settings.secret)
            audit.note(db, "secret renewed", at=datetime.now(UTC))
    click.echo(f"Done. {ENDS}")


def _write(file: Path, secret: str) -> None:
    try:
        handle = os.open(file, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600)
        try:
            with os.fdopen(handle, "w", encoding="ascii") as out:
                out.write(f"{secret}\n")
                out.flush()
                os.fsync(out.fileno())
            sync_folder(file.absolute().parent)
        except OSError:
            file.unlink(missing_ok=True)
            raise
    except FileExistsError:
        raise Conflict(f"There is a file {file} already. Name a new one; nothing is overwritten.") from None
    except OSError as error:
        raise Unavailable(f"{file} could not be written ({error.strerror}). The secret is where it was.") from error
