"""`drillhall demo`: opens a hall with invented people and drawn waders, to look round in."""

from __future__ import annotations

import sys
from datetime import UTC, datetime, timedelta
from pathlib import Path
from random import Random
from typing import Final

import click

from drillhall.acts.open_demo import draw_demo, invite_in, open_demo
from drillhall.cli.opening import data_option, open_hall
from drillhall.cli.serve import check_port, serve_hall
from drillhall.config import asset_folder, read_settings
from drillhall.people import hall
from drillhall.pictures.storage import FolderStorage
from drillhall.store.session import Store

LINK_DAYS: Final = 7
SEED: Final = 8
"""The same people, of the same luck, in every demo hall."""


@click.group(invoke_without_command=True)
@data_option
@click.option("--port", type=click.IntRange(1, 65535), help="The port. Without it: $DRILLHALL_PORT, or the first free one.")
@click.pass_context
def demo(ctx: click.Context, data: Path | None, port: int | None) -> None:
    """Open a hall with invented people and drawn waders, on this machine alone.

    It has a data folder of its own. Each start prints a link for each of its people; a link works once.
    """
    if ctx.invoked_subcommand is not None:
        return
    settings = read_settings(data=data, port=port, demo=True)
    check_port(settings)
    with open_hall(settings=settings) as (_, store):
        _fill(store, FolderStorage(settings.pictures_folder))
        serve_hall(settings, store, lines=_invitations(store))


@demo.command()
@click.argument("folder", type=click.Path(file_okay=False, path_type=Path))
def paint(folder: Path) -> None:
    """Draw the demo's waders anew into FOLDER, a catalogue that `drillhall import` reads."""
    count = draw_demo(folder, progress=lambda form: click.echo(form, err=True))
    click.echo(f"{count} drawings are in {folder}")


def _fill(store: Store, storage: FolderStorage) -> None:
    """Make the demo's people and histories, unless the folder holds them already."""
    with store.look() as db:
        if hall.has_keeper(db):
            return
    click.echo("The demo hall is made for the first time; this takes about a minute.", err=True)
    with store.work() as db:
        open_demo(
            db,
            storage,
            asset_folder("demo_cards"),
            at=datetime.now(UTC),
            dice=Random(SEED),
            progress=_tell,
        )
    click.echo("", err=True)


def _tell(what: str, done: int, total: int) -> None:
    """Show progress on one line of a terminal, and each tenth of it elsewhere."""
    if sys.stderr.isatty():
        click.echo(f"\r{what}: {done} of {total}   ", err=True, nl=False)
    elif done == total:
        click.echo(f"{what}: {done} of {total}", err=True)


def _invitations(store: Store) -> tuple[str, ...]:
    """Make a link for everybody of the demo and return the lines that offer them."""
    lines = ["", "Step in as one of its people, all of them invented. A link works once; starting the demo again prints new ones."]
    with store.work() as db:
        invited = invite_in(db, until=datetime.now(UTC) + timedelta(days=LINK_DAYS))
    for one in invited:
        lines += ["", f"  {one.name}, {one.told}", f"  {{address}}/step-in/{one.token}"]
    return tuple(lines)
