"""`drillhall pictures`: add one's own pictures from a folder, take them out again, and look after what the hall keeps of them."""

from __future__ import annotations

import sys
from contextlib import closing
from datetime import UTC, date, datetime
from pathlib import Path
from typing import Final
from uuid import uuid4
from zoneinfo import ZoneInfo

import click

from drillhall.acts.add_pictures import Adding, add_planned, look_at_pictures, plan_adding
from drillhall.acts.export_pictures import export_pictures
from drillhall.catalogues.reading.pictures import PictureFolder, read_pictures
from drillhall.catalogues.writing import open_sink
from drillhall.cli.counting import counted
from drillhall.cli.opening import data_option, open_hall, the_storage
from drillhall.cli.progress import progress
from drillhall.core.cautions import cautions
from drillhall.errors import BadImport, DrillhallError, Invalid
from drillhall.people import accounts
from drillhall.people.person import Person
from drillhall.pictures import sweeping, verifying
from drillhall.pictures.ingest import take
from drillhall.pictures.storage import Storage, drop_unfinished, orphans
from drillhall.store.session import Store

WITHOUT_ORIGINALS: Final = (
    "The files as they came are left out, with the place and the camera that they may tell; --with-originals takes them along."
)
WITH_ORIGINALS: Final = (
    "Files as they came: {count}. They may tell where each was taken, to a few metres, when, and with which camera. "
    "Pass them on only to those who may know a nest or a roost, and where somebody lives."
)
WHOSE: Final = click.option("--for", "name", required=True, metavar="NAME", help="Whose pictures: the name she signs in with.")


@click.group()
def pictures() -> None:
    """Add pictures of one's own, take them out, and look after the files of all."""


@pictures.command()
@click.argument("path", type=click.Path(path_type=Path))
@WHOSE
@data_option
@click.option("--skip-faulty", is_flag=True, help="Add what is sound, and only tell the rest.")
@click.option("--yes", is_flag=True, help="Add without asking. Where nobody sits at the terminal, nothing is asked anyway.")
def add(path: Path, name: str, data: Path | None, skip_faulty: bool, yes: bool) -> None:
    """Add the pictures in PATH for NAME: a folder, a zip of it, or a CSV that tells of the files beside it.

    Without a pictures.csv the pictures wait for a word in the browser. Broken off, it goes on where it was when run again.
    """
    with open_hall(data) as (settings, store), closing(read_pictures(path)) as folder:
        with store.look() as db:
            whose = accounts.the_person_called(db, name)
        plan = _judge(store, folder, whose)
        _tell(plan, path, skip_faulty=skip_faulty)
        if not plan.to_add:
            click.echo("Nothing was added.")
            return
        if sys.stdin.isatty() and not yes:
            click.confirm("Was nothing disturbed for them, and add them so?", abort=True)
        added, refused = _add(store, the_storage(settings), folder, plan, whose)
    click.echo(f"Added: {added}.")
    if refused:
        raise BadImport("What could not be added after all:", faults=tuple(refused))


@pictures.command()
@click.argument("folder", type=click.Path(path_type=Path))
@WHOSE
@data_option
@click.option("--with-originals", is_flag=True, help="Take along the files as they came, with the place, time and camera they tell.")
def export(folder: Path, name: str, data: Path | None, with_originals: bool) -> None:
    """Write NAME's own pictures into the new FOLDER, an archive of Darwin Core and Audiovisual Core; a name in .zip makes a zip.

    The files written tell who made them and under which licence, and no place. The files as they came may tell where each was
    taken, to a few metres, when and with which camera: they go along with --with-originals alone.
    """
    with open_hall(data) as (settings, store):
        storage = the_storage(settings)
        with store.look() as db, open_sink(folder, "pictures-of-one") as sink, progress("Pictures") as tell:
            whose = accounts.the_person_called(db, name)
            on = _her_day(whose)
            exported = export_pictures(db, storage, sink, owner_id=whose.id, on=on, with_originals=with_originals, progress=tell)
    click.echo(f"{folder}: {counted(exported.pictures, 'picture')}.")
    if exported.pictures:
        click.echo(WITH_ORIGINALS.format(count=exported.originals) if with_originals else WITHOUT_ORIGINALS)
    for line in exported.left_out:
        click.echo(f"  left out: {line}", err=True)


@pictures.command()
@data_option
@click.option("--delete", is_flag=True, help="Let go what a sweep at least an hour ago found as well.")
def sweep(data: Path | None, delete: bool) -> None:
    """Find files that no picture has, and pictures whose files are gone; without --delete nothing is changed but remembered."""
    with open_hall(data) as (settings, store):
        storage, at = the_storage(settings), datetime.now(UTC)
        with store.look() as db:
            left = orphans(db, storage)
        with store.work() as db:
            swept = sweeping.sweep(db, storage, left, at=at, delete=delete)
        unfinished = drop_unfinished(storage, before=at - sweeping.LEAST_AGE) if delete else 0
    for words, found in (("no picture has it", swept.files), ("its file is gone", swept.rows)):
        for one in found:
            click.echo(f"{one.key}: {words}, found first {one.found_at:%Y-%m-%d %H:%M} UTC")
    click.echo(f"Files that no picture has: {len(swept.files)}. Files gone: {len(swept.rows)}.")
    if delete:
        click.echo(f"Let go: {counted(swept.files_gone + unfinished, 'file')}, {counted(swept.rows_gone, 'row')}.")
        for key in swept.originals_gone:
            click.echo(f"{key}: it came so and is lost; the hall goes on with the sizes made of it.")
    if len(swept.rows) > swept.rows_gone:
        click.echo("`drillhall pictures verify --mend` makes anew what it can of files that are gone.", err=True)
    if not delete and (swept.files or swept.rows):
        click.echo("Run it again in an hour with --delete.", err=True)


@pictures.command()
@data_option
@click.option(
    "--mend",
    is_flag=True,
    help="Make anew what can be made of a sound file of the same picture, and give up a file as it came that is gone.",
)
def verify(data: Path | None, mend: bool) -> None:
    """Read every kept file again and tell which are not what was kept; ends with 1 where one is left so."""
    with open_hall(data) as (settings, store):
        storage = the_storage(settings)
        with store.look() as db, progress("Files") as tell:
            found = tuple(verifying.verify(db, storage, progress=tell))
        with store.look() as db:
            left = verifying.still_wrong(db, storage, found)
        for flaw in left:
            click.echo(flaw.line, err=True)
        if mend and left:
            with store.work() as db:
                done = verifying.mend(db, storage, left, on=datetime.now(UTC).date())
            left = done.left
            click.echo(f"Mended: {len(done.mended)}.")
            for flaw in done.given_up:
                click.echo(f"{flaw.key}: it came so and is lost; the hall goes on with the sizes made of it.")
    if left:
        count = "one file" if len(left) == 1 else f"{len(left)} files"
        raise DrillhallError(f"Not what was kept: {count}. Restore from a backup what is named above.")
    click.echo("Every file is what was kept.")


def _judge(store: Store, folder: PictureFolder, whose: Person) -> Adding:
    with progress("Looking") as tell:
        seen = look_at_pictures(folder, progress=tell)
    with store.look() as db:
        return plan_adding(db, folder, seen, owner_id=whose.id, on=_her_day(whose))


def _tell(plan: Adding, path: Path, *, skip_faulty: bool) -> None:
    faults = tuple(fault.line.rstrip() for fault in plan.faults)
    count = "one fault" if len(faults) == 1 else f"{len(faults)} faults"
    if faults and not skip_faulty:
        mend = "it" if len(faults) == 1 else "them"
        raise BadImport(f"Nothing was added: {path} has {count}. Mend {mend}, or add the rest with --skip-faulty.", faults=faults)
    if faults:
        click.echo(f"Left aside: {count}.", err=True)
    for line in faults:
        click.echo(f"  {line}", err=True)
    for line in plan.lines:
        click.echo(line)
    told = dict.fromkeys(sentence for subject in plan.subjects for sentence in cautions(subject, "upload"))
    for sentence in told if plan.to_add else ():
        click.echo(sentence, err=True)


def _add(store: Store, storage: Storage, folder: PictureFolder, plan: Adding, whose: Person) -> tuple[int, list[str]]:
    """Add what is planned, each kept before the next is begun; return how many, and what was refused in the end."""
    added, refused = 0, []
    with progress("Adding") as tell:
        for done, one in enumerate(plan.to_add):
            tell(done, len(plan.to_add), one.file)
            try:
                taken = take(folder.source.read(one.file), keep_original=whose.preferences.keep_originals)
                with store.work() as db:
                    at, on = datetime.now(UTC), _her_day(whose)
                    sent = add_planned(db, storage, taken, one, public_id=str(uuid4()), owner_id=whose.id, at=at, on=on)
                added += not sent.already
            except Invalid as error:
                refused.append(f"{one.where}: {error.sentence}")
        tell(len(plan.to_add), len(plan.to_add), "")
    return added, refused


def _her_day(person: Person) -> date:
    return datetime.now(UTC).astimezone(ZoneInfo(person.zone)).date()
