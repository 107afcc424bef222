"""`drillhall people`: who is in the hall, and what only the machine that keeps it may do with them."""

from __future__ import annotations

import os
import secrets
from datetime import UTC, datetime
from pathlib import Path
from random import SystemRandom
from zoneinfo import ZoneInfo

import click

from drillhall.acts.erase_person import erase_person
from drillhall.acts.export_person import export_person
from drillhall.acts.settle_secret import settle_secret
from drillhall.cli.opening import data_option, open_hall, the_storage
from drillhall.cli.progress import progress
from drillhall.config import DEFAULT_PORT, Settings
from drillhall.errors import Conflict
from drillhall.people import accounts, audit, invitations, marks, passphrases, second_step


@click.group()
def people() -> None:
    """See to the hall's people from the machine that keeps it."""


@people.command()
@data_option
@click.option("--places", default=1, show_default=True, help="How many people may join by the link.")
@click.option("--days", default=invitations.DAYS, show_default=True, help="For how many days it holds.")
@click.option("--note", default="", metavar="TEXT", help="For whom it is; the keeper alone sees it.")
def invite(data: Path | None, places: int, days: int, note: str) -> None:
    """Print a link by which people may join the hall."""
    with open_hall(data) as (settings, store), store.work() as db:
        token = invitations.invite(db, by=accounts.the_keeper(db), at=datetime.now(UTC), places=places, days=days, note=note)
    click.echo(f"{_address(settings)}/join/{token}")
    click.echo(f"Good for {places} and {days} days. It is shown once, and kept nowhere.", err=True)


@people.command("list")
@data_option
def list_people(data: Path | None) -> None:
    """List who has an account."""
    with open_hall(data) as (_, store), store.look() as db:
        listed = accounts.list_accounts(db)
    for one in listed:
        state = f"closed {one.retired_at:%Y-%m-%d}" if one.retired_at else ("keeper" if one.is_keeper else "")
        click.echo(f"{one.created_at:%Y-%m-%d}  {one.name}{f'  ({state})' if state else ''}")
    if not listed:
        click.echo("Nobody yet. `drillhall serve` prints the link with which the keeper begins.", err=True)


@people.command()
@click.argument("name")
@data_option
def reset(name: str, data: Path | None) -> None:
    """Give NAME a new passphrase, print it once, and sign all her devices out."""
    fresh = passphrases.offer_passphrase(dice=SystemRandom())
    with open_hall(data) as (_, store), store.work() as db:
        accounts.reset_passphrase(db, name=name, passphrase=fresh, at=datetime.now(UTC), by=None)
    click.echo(fresh)
    click.echo("That is the new passphrase; hand it over, and have it changed after signing in.", err=True)


@people.command("second-step-off")
@click.argument("name")
@data_option
def second_step_off(name: str, data: Path | None) -> None:
    """Take the second step at sign-in off for NAME, who has lost device and spare codes; she is told, and signed out everywhere."""
    with open_hall(data) as (_, store), store.work() as db:
        second_step.take_off(db, name, at=datetime.now(UTC), by=None)
    click.echo("Taken off. Be sure that it was really she who asked; let her set it up anew.", err=True)


@people.command()
@click.argument("name")
@click.argument("file", type=click.Path(path_type=Path))
@data_option
def export(name: str, file: Path, data: Path | None) -> None:
    """Write everything that is kept about NAME into the new FILE, a zip: tables as JSON and CSV, her own pictures, as they came too."""
    _refuse_taken(file)
    # A name of its own, so that two exports to one name at once do not spoil each other's.
    at, beside = datetime.now(UTC), file.parent / f".{file.absolute().name}.{secrets.token_hex(4)}.unfinished"
    with open_hall(data) as (settings, store):
        with store.work() as db:
            whom = accounts.the_person_called(db, name)
            audit.note(db, "export made", at=at, subject=f"account {whom.id}")
        try:
            with open(beside, "xb", opener=_for_its_owner) as out, store.look() as db, progress("Everything") as tell:
                on, storage = at.astimezone(ZoneInfo(whom.zone)).date(), the_storage(settings)
                export_person(db, storage, out, whom.id, name=whom.name, on=on, at=at, progress=tell)
            _refuse_taken(file)
            beside.replace(file)
        finally:
            beside.unlink(missing_ok=True)
    click.echo(f"{file}: hand it to {whom.name} and to nobody else.", err=True)


@people.command()
@click.argument("name")
@data_option
@click.option("--leave-licensed", is_flag=True, help="Leave the pictures that catalogues hold under an open licence, with their credit.")
@click.option("--yes", is_flag=True, help="Do not ask.")
def erase(name: str, data: Path | None, leave_licensed: bool, yes: bool) -> None:
    """Erase NAME: account, answers, pictures and all that hangs on them go for good; what others need loses her name."""
    with open_hall(data) as (settings, store):
        with store.look() as db:
            whom = accounts.the_person_called(db, name)
        if not yes:
            click.confirm(f"Erase {whom.name} for good?", abort=True)
        storage, at = the_storage(settings), datetime.now(UTC)
        uploads = settings.uploads_folder
        erase_person(store, storage, whom.id, leave_licensed=leave_licensed, by=None, at=at, uploads=uploads)
    click.echo("Erased. Backups from before still hold her: let them go in time.", err=True)


@people.command()
@click.argument("mark")
@data_option
def marked(mark: str, data: Path | None) -> None:
    """Print whose MARK stands in refusals.log; it is somebody's until she takes another passphrase, and nobody's once she is erased."""
    with open_hall(data) as (settings, store):
        settle_secret(store, settings.secret)
        with store.look() as db:
            click.echo(marks.the_marked(db, mark))


def _refuse_taken(file: Path) -> None:
    if file.exists():
        raise Conflict(f"{file} is there already. Name a new one, so that nothing of yours is overwritten.")


def _for_its_owner(path: str, flags: int) -> int:
    return os.open(path, flags, 0o600)


def _address(settings: Settings) -> str:
    # The running hall may have found another port; then the port in the link is to be changed.
    return settings.public_url or f"http://{settings.listen}:{settings.port or DEFAULT_PORT}"
