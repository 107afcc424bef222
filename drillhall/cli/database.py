"""`drillhall rebuild`: folds every learner's answers anew."""

from __future__ import annotations

from pathlib import Path

import click

from drillhall.cli.opening import data_option, open_hall


@click.command()
@data_option
def rebuild(data: Path | None) -> None:
    """Work out memory and tallies anew from the answers, which are the only truth."""
    from drillhall.practice import drilling

    with open_hall(data) as (_, store), store.work() as db:
        drilling.rebuild(db)
    click.echo("Memory and tallies are worked out anew from the answers.")
