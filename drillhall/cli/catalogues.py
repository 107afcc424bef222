"""`drillhall check`, `import` and `export`: a catalogue's folder judged, brought into the hall and given back."""

from __future__ import annotations

import sys
from collections.abc import Sequence
from contextlib import closing
from datetime import UTC, datetime
from pathlib import Path
from typing import Final

import click

from drillhall.acts.export_catalogue import export_catalogue
from drillhall.acts.import_catalogue import import_catalogue, pictures_kept, preview_import
from drillhall.catalogues.checking import check as check_folder
from drillhall.catalogues.reading import read_folder
from drillhall.catalogues.stewards import list_stewards
from drillhall.catalogues.writing import open_sink
from drillhall.cli.counting import counted
from drillhall.cli.opening import data_option, open_hall, the_storage
from drillhall.cli.progress import progress
from drillhall.errors import BadImport
from drillhall.people import accounts
from drillhall.store.session import Store

WANTED_SHOWN: Final = 20
FROM: Final = click.argument("folder", type=click.Path(path_type=Path))
NAME: Final = click.option("--as", "name", default="", help="In whose name. Without it: a steward's; the keeper's for a new catalogue.")


@click.command()
@FROM
@click.option("--all", "show_all", is_flag=True, help="Tell all that is wanted still, however long the list.")
def check(folder: Path, show_all: bool) -> None:
    """Tell every fault of the catalogue in FOLDER, or in a zip of it, and what it wants still."""
    with closing(read_folder(folder)) as opened:
        report = check_folder(opened)
    if report.faults:
        raise BadImport(f"{folder}: {_count(len(report.faults))} to mend before it can be imported.", faults=report.lines)
    click.echo(f"{folder}: no faults.")
    _say_wanted(report.wanted, most=len(report.wanted) if show_all else WANTED_SHOWN)


@click.command("import")
@FROM
@data_option
@NAME
@click.option("--yes", is_flag=True, help="Import without asking. Where nobody sits at the terminal, nothing is asked anyway.")
def import_(folder: Path, data: Path | None, name: str, yes: bool) -> None:
    """Bring the catalogue in FOLDER, or in a zip of it, into the hall: as a whole or not at all."""
    with open_hall(data) as (settings, store):
        by, storage = _who_writes(store, _key_of(folder), name), the_storage(settings)
        with store.look() as db:
            preview = preview_import(db, storage, folder, by=by)
        if preview.changes is None:
            faults = preview.report.lines
            raise BadImport(f"Nothing was imported: {folder} has {_count(len(faults))}.", faults=faults)
        for line in preview.changes.lines:
            click.echo(line)
        _say_wanted(preview.report.wanted, most=WANTED_SHOWN)
        if preview.changes.is_nothing:
            click.echo("The hall says all that already. Nothing was changed.")
            return
        if sys.stdin.isatty() and not yes:
            click.confirm("Import it so?", abort=True)
        with progress("Pictures") as tell, pictures_kept(storage, folder, preview, progress=tell) as kept, store.work() as db:
            imported = import_catalogue(db, storage, folder, by=by, at=datetime.now(UTC), kept=kept)
    click.echo("Imported.")
    if imported.judged_anew:
        learners = "1 learner" if imported.of_learners == 1 else f"{imported.of_learners} learners"
        click.echo(f"Labels were corrected: {imported.judged_anew} answers of {learners} were judged anew.")


@click.command()
@click.argument("key")
@click.argument("folder", type=click.Path(path_type=Path))
@data_option
@NAME
@click.option("--with-originals", is_flag=True, help="Her own pictures as they came, with the place, time and camera they may tell.")
def export(key: str, folder: Path, data: Path | None, name: str, with_originals: bool) -> None:
    """Write the catalogue KEY into the new FOLDER, from which it can be imported again; a name in .zip makes a zip.

    Pictures leave in their largest size, which tells no place. As they came from the camera they go with --with-originals alone.
    """
    with open_hall(data) as (settings, store):
        by, storage = _who_writes(store, key, name), the_storage(settings)
        with store.look() as db, open_sink(folder, key) as sink, progress("Pictures") as tell:
            on = datetime.now(UTC).date()
            exported = export_catalogue(db, storage, key, sink, by=by, on=on, with_originals=with_originals, progress=tell)
    click.echo(f"{folder}: {counted(exported.pictures, 'picture')}.")
    if with_originals:
        click.echo("Pictures of the steward's own are there as they came: they may tell where each was taken, to a few metres.")
    for file in exported.left_out:
        click.echo(f"  left out, since its rights keep it in the hall: {file}", err=True)


def _key_of(folder: Path) -> str:
    with closing(read_folder(folder)) as opened:
        return opened.catalogue.key


def _who_writes(store: Store, key: str, name: str) -> int:
    """Return the account in whose name to write a catalogue: the one named, else a steward of it, else the keeper."""
    with store.look() as db:
        if not name:
            return next(iter(list_stewards(db, key)), 0) or accounts.the_keeper(db).id
        return accounts.the_person_called(db, name).id


def _say_wanted(wanted: Sequence[str], *, most: int) -> None:
    if wanted:
        click.echo("Wanted still:")
    for line in wanted[:most]:
        click.echo(f"  {line}")
    if len(wanted) > most:
        click.echo(f"  and {len(wanted) - most} more: see `drillhall check --all`.")


def _count(faults: int) -> str:
    return "one fault" if faults == 1 else f"{faults} faults"
