"""`drillhall rebuild`: folds every learner's answers anew."""

from __future__ import annotations

from pathlib import Path

import click

from drillhall.cli.opening import data_option, open_hall
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
