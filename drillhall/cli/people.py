"""`drillhall people`: invite, list, and reset a passphrase, from the machine that keeps the hall."""

from __future__ import annotations

from datetime import UTC, datetime
from pathlib import Path
from random import SystemRandom

import click

from drillhall.cli.opening import data_option, open_hall
from drillhall.config import DEFAULT_PORT, Settings
from drillhall.people import accounts, invitations, passphrases


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


def _address(settings: Settings) -> str:
    # The running hall may have found another port; then the port in the link is to be changed.
    return settings.public_url or f"http://{settings.listen}:{settings.port or DEFAULT_PORT}"
