"""`drillhall doctor`: looks the hall over, and says in words how it is."""

from __future__ import annotations

from datetime import UTC, datetime
from pathlib import Path
from typing import Final

import click

from drillhall.acts.examine import MIND, WELL, WRONG, Patient, examine
from drillhall.cli.opening import as_it_is, data_option, database_file, the_storage
from drillhall.web.office import office_of

SIGNS: Final = {WELL: "  ", MIND: "? ", WRONG: "! "}


@click.command()
@data_option
@click.pass_context
def doctor(ctx: click.Context, data: Path | None) -> None:
    """Look at the hall's database, files, folder, disk, backup, mail and clock, and say how they are; mends nothing.

    The status is 1 where something is wrong (marked !), else 0. What is to be minded is marked with a question mark.
    """
    with as_it_is(data) as (settings, store):
        office = office_of(settings, "")  # to reach the server alone; nothing is signed
        patient = Patient(
            store,
            the_storage(settings),
            settings.data_folder,
            database_file(settings),
            office.server if office else None,
            settings.why_no_mail,
            settings.secret,
            settings.secret_file,
        )
        findings = examine(patient, at=datetime.now(UTC))
    for finding in findings:
        click.echo(f"{SIGNS[finding.how]}{finding.what:<10} {finding.sentence}")
    ctx.exit(1 if any(finding.how == WRONG for finding in findings) else 0)
