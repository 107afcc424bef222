"""`drillhall rebuild` folds every learner's answers anew, `drillhall rewrite` the files in which the database keeps its rows."""

from __future__ import annotations

from pathlib import Path

import click

from drillhall.acts.erase_person import clear_all_files
from drillhall.cli.opening import data_option, open_hall
from drillhall.errors import Unavailable
from drillhall.practice import folding


@click.command()
@data_option
def rebuild(data: Path | None) -> None:
    """Work out memory and tallies anew from the answers, which are the only truth."""
    with open_hall(data) as (_, store), store.work() as db, click.progressbar(length=1, label="Learners") as bar:

        def tell(done: int, of: int) -> None:
            bar.length = of
            bar.update(1)

        learners = folding.rebuild(db, progress=tell)
    click.echo(f"Memory and tallies of {learners} learner{'' if learners == 1 else 's'} worked out anew from the answers.")


@click.command()
@data_option
def rewrite(data: Path | None) -> None:
    """Write the database's files anew, so that no byte of whoever was erased is left in them; people wait meanwhile.

    An open hall does so by itself within the hour, but for what is over 256 MB, of which `drillhall doctor` tells.
    """
    with open_hall(data) as (_, store):
        if not clear_all_files(store):
            raise Unavailable("Something was in use and is as it was. Run it once more when nobody is there.")
    click.echo("The database's files are written anew.")
